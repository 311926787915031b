"""The results of one case, read from its folder."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from borestudy.acoustics.result import AcousticResult, Resonance
from borestudy.bore import BoreDescription, Passage
from borestudy.bore.measured.record import MeasurementRecord
from borestudy.flow.result import FlowResult
from borestudy.records import Record, read_record
from borestudy.results.dimensions import DimensionValue
from borestudy.results.estimate import (
    ESTIMATE,
    SOLUTIONS,
    WHOLE,
    EstimatedFlow,
    EstimatedRate,
    HandbookAt,
    estimated_flow,
)
from borestudy.results.onset import OnsetResult
from borestudy.results.stream import StreamAtRate, StreamResult
from borestudy.results.tone import ToneResult

#: Each solution's file in a case's folder.
FLOW_FILES = {word: f"flow-{word}.json" for word in SOLUTIONS}

UNITS = {"_mm": "mm", "_degC": "°C", "_percent": "%", "_kPa": "kPa"}
WORDS = {"entry": "throat entry", "entry_radius": "radius of the throat entry"}


@dataclass(frozen=True)
class CaseResults:
    """One case's numbers as the tables need them; None where nothing was computed.

    ``varied`` leads from the table column of each varied dimension, which ends in the unit, to its
    value, and ``words`` from the same columns to what a reader is told of it.  ``measurement`` is
    of a bore from stations.
    """

    name: str
    varied: Mapping[str, float | str | None] = field(default_factory=dict)
    geometry: BoreDescription | None = None
    acoustics: AcousticResult | None = None
    flow: EstimatedFlow = field(default_factory=EstimatedFlow)
    stream: StreamResult | None = None
    dimensions: Sequence[DimensionValue] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    measurement: MeasurementRecord | None = None
    onset: OnsetResult | None = None
    tone: ToneResult | None = None

    @property
    def called(self) -> str:
        """What tells the case from the others, in words; its name where there are none."""
        return ", ".join(dict.fromkeys(self.words.values())) or self.name

    @property
    def resonances(self) -> Sequence[Resonance]:
        """Resonances from the lowest up; empty where none was found or nothing was computed."""
        return () if self.acoustics is None else self.acoustics.resonances

    @property
    def streams(self) -> Sequence[StreamAtRate]:
        """The first resonance on the stream, a row for each rate with a slope."""
        return () if self.stream is None else self.stream.rates

    @property
    def unmeshed(self) -> dict[str, str]:
        """What the case has no mesh for, and why; empty where every mesh was made."""
        found = {
            "sound": None if self.acoustics is None else self.acoustics.not_meshed,
            "the stream's effect on sound": None if self.stream is None else self.stream.not_meshed,
            "the onset of a tone": None if self.onset is None else self.onset.not_meshed,
            "the tone": None if self.tone is None else self.tone.not_meshed,
            **{
                "flow" if word == ESTIMATE else f"{word} flow": reason
                for word, reason in self.flow.not_meshed.items()
            },
        }
        return {name: reason for name, reason in found.items() if reason is not None}

    @property
    def rates(self) -> Sequence[EstimatedRate]:
        """One for each flow rate of the study, in its order; none where nothing was computed."""
        return self.flow.rates

    @property
    def has_air_column(self) -> bool:
        """Whether the termination was an instrument's air column."""
        return self.acoustics is not None and self.acoustics.termination.startswith("air column")

    def rate(self, index: int) -> EstimatedRate | None:
        """The study's flow rate of that index; None where nothing was computed."""
        return self.rates[index] if index < len(self.rates) else None

    def converged(self, index: int) -> bool:
        """Whether the flow rate of that index has a solution."""
        return (rate := self.rate(index)) is not None and rate.converged


def varied_columns(cases: Sequence[CaseResults]) -> list[str]:
    """The column of each varied dimension that figures and sentences use, one a dimension.

    A throat entry has its words and its radius: the radius where every case has one.
    """
    columns = [name for name in cases[0].varied if name != "entry_radius_mm"] if cases else []
    if "entry" in columns and all(case.varied.get("entry_radius_mm") is not None for case in cases):
        columns[columns.index("entry")] = "entry_radius_mm"
    return columns


def split_column(column: str) -> tuple[str, str]:
    """A varied dimension's name in words and its unit: ``throat diameter`` and ``mm``."""
    suffix = next((end for end in UNITS if column.endswith(end)), "")
    stem = column.removesuffix(suffix)
    return WORDS.get(stem, stem.replace("_", " ")), UNITS.get(suffix, "")


def flow_rates(cases: Sequence[CaseResults]) -> list[float]:
    """The study's flow rates [L/s], as far as a case was computed."""
    longest = max((case.rates for case in cases), key=len, default=())
    return [rate.flow_rate_L_per_s for rate in longest]


def other_rates(cases: Sequence[CaseResults], rate: int) -> list[int]:
    """Indices of the study's flow rates but one."""
    return [index for index in range(len(flow_rates(cases))) if index != rate]


def solved_rate(cases: Sequence[CaseResults], reference: int) -> int:
    """The reference rate, or the softest with a solution where no case has one there."""
    indices = [reference, *range(len(flow_rates(cases)))]
    solved = (index for index in indices if any(case.converged(index) for case in cases))
    return next(solved, reference)


def solved_cases(cases: Sequence[CaseResults], rate: int) -> list[CaseResults]:
    """The cases with a pressure drop at a rate, least first."""
    drops = [
        (drop.value, place)
        for place, case in enumerate(cases)
        if (found := case.rate(rate)) is not None and (drop := found.quantity(WHOLE)) is not None
    ]
    return [cases[place] for _, place in sorted(drops)]


def read_results(
    directory: Path | str,
    name: str,
    varied: Mapping[str, float | str | None],
    passage: Passage,
    handbook: HandbookAt | None = None,
    extremes: Collection[str] = (),
    dimensions: Sequence[DimensionValue] = (),
    words: Mapping[str, str] | None = None,
    lips: bool = False,
) -> CaseResults:
    """Read one case's folder.

    Parameters
    ----------
    directory : path
        The case's folder, with ``bore.json``, ``acoustics.json``, `FLOW_FILES`, ``stream.json``, of
        a study with lips ``onset.json`` and ``tone.json``, and of a measured bore
        ``measurement.json``; one that is missing gives nothing, so that the case becomes a row that
        says so.
    name : str
        Name of the case.
    varied : mapping
        Table columns of what the study varies, with this case's values.
    passage, handbook
        Of the case's bore, for `estimated_flow`.
    extremes : collection of str
        The extreme solutions that the study asks for; others are left out, whatever a former run
        left.
    dimensions : sequence of DimensionValue
        Of the case's bore.
    words : mapping, optional
        What a reader is told of each varied dimension, by the columns of ``varied``.
    lips : bool
        Whether the study has lips; without them an onset that a former run left is of no study.

    Raises
    ------
    FileError
        If a file that is there is not whole or of another version; see `read_record`.
    """

    def read(file: str, kind: type[Record]) -> Record | None:
        path = Path(directory) / file
        return read_record(path, kind) if path.is_file() else None

    solved = {
        word: result
        for word, file in FLOW_FILES.items()
        if word == ESTIMATE or word in extremes
        if (result := read(file, FlowResult)) is not None
    }
    estimate = solved.pop(ESTIMATE, None)
    return CaseResults(
        name,
        dict(varied),
        read("bore.json", BoreDescription),
        read("acoustics.json", AcousticResult),
        estimated_flow(estimate, passage, handbook, solved),
        read("stream.json", StreamResult),
        dimensions,
        dict(words or {}),
        # a file that a former run left of another bore is of no station
        read("measurement.json", MeasurementRecord)
        if any(one.position_mm is not None for one in dimensions)
        else None,
        read("onset.json", OnsetResult) if lips else None,
        read("tone.json", ToneResult) if lips else None,
    )
