"""What was found in the files of measured bores, as tables."""

from collections.abc import Sequence
from dataclasses import dataclass

from borestudy.bore.measured.findings import listed
from borestudy.bore.measured.record import MeasurementRecord
from borestudy.report.captions import text
from borestudy.report.sources import Source
from borestudy.report.tables.layout import Cell, Table
from borestudy.results.case import CaseResults
from borestudy.rounding import significant


@dataclass(frozen=True)
class ReadFile:
    """A file of readings: sentences on its parts and its errors, and what was found in it."""

    sentences: Sequence[str]
    findings: Table


def read_files(cases: Sequence[CaseResults]) -> list[ReadFile]:
    """Each file of readings that cases are made from, once for each way that it was read."""
    records: dict[str, MeasurementRecord] = {}
    for case in cases:
        record = case.measurement
        if record and all(record != one for one in records.values()):
            records[case.name] = record
    return [_read_file(name, record) for name, record in records.items()]


def _read_file(case: str, record: MeasurementRecord) -> ReadFile:
    errors = sorted(one.diameter_mm_uncertainty or 0.0 for one in record.stations)
    ends = dict.fromkeys(significant(error, 2) for error in (errors[0], errors[-1]))
    common = record.common_mm_uncertainty
    sentences = [
        f"{record.file}: {record.places}.",
        f"Each diameter is uncertain by ± {' to '.join(ends)} mm, about 95 %, from "
        f"{record.uncertainty_from}"
        + (f"; all of them together by ± {significant(common, 2)} mm." if common else "."),
    ]
    rows = [
        (
            Cell(f"line{'s' if len(set(one.lines)) > 1 else ''} {listed(one.lines)}"
                 if one.lines else "the file"),
            Cell(one.kind, "bad" if one.caution else ""),
            Cell(f"{one.text[:1].upper()}{one.text[1:]}."),
        )
        for one in record.findings
    ]  # fmt: skip
    heads = tuple(Cell(word) for word in ("where", "what", "what was found and done"))
    source = Source((f"cases/{case}/measurement.json",), "how-bore")
    table = Table(text("tables", "findings", file=record.file), heads, rows, source=source)
    return ReadFile(sentences, table)
