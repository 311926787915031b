"""Collect the folders of all cases into the study's tables and its answer."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import partial
from itertools import chain, islice
from pathlib import Path

import pandas as pd

from borestudy.bore import passage, tolerances_of
from borestudy.files import write_json
from borestudy.records import read_record
from borestudy.report.sentences.answers import answers
from borestudy.report.sentences.first import FirstSentence, first_sentences, wished_sentences
from borestudy.report.sentences.first.onset import onset_sentences
from borestudy.report.sentences.grid import by_pitch
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.budget import budget_rows
from borestudy.results.case import CaseResults, read_results, solved_cases, solved_rate
from borestudy.results.dimensions import dimension_values
from borestudy.results.estimate import EXTREMES
from borestudy.results.handbooks import handbook_at, handbook_dimensions
from borestudy.results.tables import files
from borestudy.results.tables.of_study import BOUNDS, Bounds, StudyTables
from borestudy.results.tables.sizes import TABLES_OF_CASES, TABLES_OF_LIPS
from borestudy.results.toleranced import ToleranceResult, tolerance_table
from borestudy.results.wishes import WishResult
from borestudy.results.without_details import without_details
from borestudy.stages.air import AirResult, read_air
from borestudy.stages.geometry import read_bore, read_dimensions
from borestudy.stages.plan import air_name
from borestudy.study import Case, Study

#: Ends the name of an output that is a table in Parquet.
PARQUET = "_parquet"


def case_by_case(
    study: Study, folder: Path | str, cases: Sequence[Case] | None = None
) -> Iterator[CaseResults]:
    """Results of cases one after another, by default all of the study, from its folder."""
    pipe = study.pipe_behind()
    extremes = [word for word in EXTREMES if study.flow.closure in (word, "both")]
    for case in study.cases() if cases is None else cases:
        home = Path(folder) / "cases" / case.name
        bore = read_bore(home / "bore.json")
        handbook = partial(handbook_at, handbook_dimensions(bore, pipe))
        way = passage(bore.extended(pipe) if pipe else bore)
        dimensions = dimension_values(bore, read_dimensions(home / "dimensions.json"))
        varied = case.varied_columns()
        yield read_results(
            home, case.name, varied, way, handbook, extremes, dimensions, case.words(),
            study.lips is not None,
        )  # fmt: skip


def results_of_cases(
    study: Study, folder: Path | str, names: Collection[str] | None = None
) -> list[CaseResults]:
    """Results of every case, or of those named, in the study's order, from a study's folder.

    All at once, each takes a megabyte.
    """
    cases = [case for case in study.cases() if names is None or case.name in names]
    return list(case_by_case(study, folder, cases))


def collate(
    study: Study,
    folder: Path,
    checks: Sequence[Path | str],
    tolerances: Path | str,
    air: Path | str,
    outputs: Mapping[str, Path | str],
    bounds: Bounds = BOUNDS,
) -> None:
    """Write a study's tables and answers, each to its entry of `outputs`, from its folder.

    Cases are read one after another.  Of all of them there is at once what sentences compare alone
    (`without_details`), and of each table what `bounds` allow.

    `checks` are the verification's tables; `tolerances` and `air` are of the first case.  Of a
    large study `outputs` has the tables in Parquet as well, as ``NAME_parquet``.
    """
    tables, cases = _read(study, folder, bounds)
    first, names = tables.first, [one.name for one in cases]
    reference = study.flow_rates().tolist().index(study.reference_rate())
    rate = solved_rate(cases, reference)
    if rate != tables.rate:
        tables.compare_at(rate, case_by_case(study, folder))
    temperature = read_record(air, AirResult).conditions.temperature_K
    of_first = read_dimensions(folder / "cases" / first.name / "dimensions.json")
    missed = tolerances_of(of_first, study.tolerance.value, study.stated_tolerances())
    unmeshed = [(case.name, *each) for case in cases for each in case.unmeshed.items()]
    others = {
        "verification": files.verification_table(checks, unmeshed),
        "tolerances": tolerance_table(read_record(tolerances, ToleranceResult)),
        "budget": pd.DataFrame(budget_rows(first, rate, temperature, missed)),
    }
    opening = first_answer(study, folder, cases)
    shown = [case.name for case in extreme_cases(cases, rate)]
    parquet = {
        name: outputs[key]
        for name in (*TABLES_OF_CASES, *TABLES_OF_LIPS)
        if (key := f"{name}{PARQUET}") in outputs
    }
    rows, all_rows = tables.write(outputs, parquet, shown)
    for name, table in others.items():
        files.write_table(table, outputs[name])
    # what a study of more cases, or one with lips, left in the same folder
    home = Path(outputs["answers"]).parent
    for name in {*TABLES_OF_CASES, *TABLES_OF_LIPS} - set(parquet):
        (home / f"{name}.parquet").unlink(missing_ok=True)
    for name in set(TABLES_OF_LIPS) - set(outputs):
        (home / f"{name}.csv").unlink(missing_ok=True)
    write_json(
        outputs["answers"],
        {
            "question": study.question,
            "first": [one.text for one in opening],
            "first_numbers": [one.source() for one in opening],
            "onset": onset_sentences(cases),
            "answers": answers(cases, rate, study.question),
            "validity": validity_sentences(cases),
            "cases": len(names),
            "extremes": shown,
            "rows": rows | {name: len(table) for name, table in others.items()},
            "parquet_rows": all_rows,
        },
    )


def _read(study: Study, folder: Path, bounds: Bounds) -> tuple[StudyTables, list[CaseResults]]:
    """The tables with the rows of every case, and what sentences need of every case.

    The first and the last case are whole, of which more is said than of the others.
    """
    asked, rates = study.cases(), study.flow_rates().tolist()
    names = [air_name(case) for case in asked]
    airs = {name: read_air(folder / "air" / f"{name}.json") for name in dict.fromkeys(names)}
    (first,) = case_by_case(study, folder, asked[:1])
    tables = StudyTables(
        first,
        [1e3 * rate for rate in rates],
        rates.index(study.reference_rate()),
        study.air_column_file() is not None,
        study.lips is not None,
        folder,
        bounds,
    )
    others, kept = case_by_case(study, folder, asked[1:]), []
    found = zip(chain([first], others), names, strict=True)
    while batch := list(islice(found, bounds.cases)):
        cases = [case for case, _ in batch]
        curves = [folder / "cases" / case.name / "impedance.csv" for case in cases]
        impedance = files.join_impedances(curves, study.resonance.points)
        tables.append(cases, [airs[name] for _, name in batch], impedance)
        kept += [case if case is first else without_details(case) for case in cases]
        last = cases[-1]
    return tables, [*kept[:-1], last]


def extreme_cases(cases: Sequence[CaseResults], rate: int) -> list[CaseResults]:
    """The first case, and those that are the lowest and highest in pitch and in flow resistance."""
    found = {cases[0].name: cases[0]}
    for ordered in (by_pitch(cases), solved_cases(cases, rate)):
        found |= {case.name: case for case in [*ordered[:1], *ordered[-1:]]}
    return list(found.values())


def first_answer(study: Study, folder: Path, cases: Sequence[CaseResults]) -> list[FirstSentence]:
    """The answer to a study's question or wish, at the flow rate that a player uses."""
    if study.asked() is not None:
        return wished_sentences(read_record(folder / "wish" / "wish.json", WishResult))
    rate = solved_rate(cases, study.flow_rates().tolist().index(study.playing_rate()))
    return first_sentences(cases, rate, study.question)
