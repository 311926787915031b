"""The results of one case, read from its folder."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from borestudy.provenance import read_json
from borestudy.results.merged_flow import Mode, merged_flow, row_at, solution_row


@dataclass(frozen=True)
class CaseResults:
    """One case's numbers as the tables need them.

    Attributes
    ----------
    name : str
    varied : mapping
        Table column of each varied dimension to its value; the unit is in the column's name.
    geometry, acoustics, stream : mapping
        What `bore.json`, `acoustics.json` and `stream.json` hold; empty where there is no file.
    flow : mapping
        What both solutions say together (`borestudy.results.merged_flow`).
    """

    name: str
    varied: Mapping[str, float | str | None] = field(default_factory=dict)
    geometry: Mapping[str, Any] = field(default_factory=dict)
    acoustics: Mapping[str, Any] = field(default_factory=dict)
    flow: Mapping[str, Any] = field(default_factory=dict)
    stream: Mapping[str, Any] = field(default_factory=dict)

    @property
    def resonances(self) -> Sequence[Mapping[str, Any]]:
        """Resonances from the lowest up; empty where none was found or nothing was computed."""
        return self.acoustics.get("resonances", [])

    @property
    def unmeshed(self) -> dict[str, str]:
        """What the case has no mesh for, and why; empty where every mesh was made."""
        found = {"sound": self.acoustics, "the stream's effect on sound": self.stream}
        reasons = {name: of["not_meshed"] for name, of in found.items() if of.get("not_meshed")}
        flows = self.flow.get("not_meshed", {})
        return reasons | {f"{word} flow": reason for word, reason in flows.items()}

    @property
    def rates(self) -> list[float]:
        """Flow rates with a row of their own, converged or not [L/s]."""
        return [row["flow_rate_L_per_s"] for row in self.flow.get("rates", [])]

    @property
    def has_air_column(self) -> bool:
        """Whether an instrument was behind the shank."""
        return str(self.acoustics.get("termination", "")).startswith("air column")

    def rate(self, flow_rate: float) -> Mapping[str, Any]:
        """The row of a flow rate [L/s]; empty where there is none."""
        return row_at(self.flow, flow_rate)

    def converged(self, flow_rate: float) -> bool:
        """Whether the flow rate [L/s] has a solution, on every mesh."""
        return bool(self.rate(flow_rate).get("converged", False))


def varied_columns(cases: Sequence[CaseResults]) -> list[str]:
    """The column of each varied dimension that figures and sentences use, one a dimension.

    A throat entry has its words and its radius: the radius where every case has one.
    """
    columns = [name for name in cases[0].varied if name != "entry_radius_mm"] if cases else []
    if "entry" in columns and all(case.varied.get("entry_radius_mm") is not None for case in cases):
        columns[columns.index("entry")] = "entry_radius_mm"
    return columns


def other_rates(cases: Sequence[CaseResults], rate: float) -> list[float]:
    every = sorted({other for case in cases for other in case.rates})
    return [other for other in every if abs(other - rate) > 1e-6 * rate]


def solved_rate(cases: Sequence[CaseResults], reference_rate: float) -> float:
    """The reference rate [L/s], or the softest with a solution where no case has one there."""
    if any(case.converged(reference_rate) for case in cases):
        return reference_rate
    rates = {rate for case in cases for rate in case.rates if case.converged(rate)}
    return min(rates, default=reference_rate)


def solved_cases(
    cases: Sequence[CaseResults], rate: float, solution: str | None = None
) -> list[CaseResults]:
    """The cases with a pressure drop at a rate, least first, by one solution or their own."""
    drops = [solution_row(case.rate(rate), solution).get("pressure_drop_Pa") for case in cases]
    known = [(drop, place) for place, drop in enumerate(drops) if drop is not None]
    return [cases[place] for _, place in sorted(known)]


def read_results(
    directory: Path | str,
    name: str,
    varied: Mapping[str, float | str | None],
    mode: Mode = "both",
    given: Mapping[str, Any] | None = None,
) -> CaseResults:
    """Read one case's folder.

    Parameters
    ----------
    directory : Path
        The case's folder, with `bore.json`, `acoustics.json`, `flow.json`, `closure.json` and
        `stream.json`; one that is missing gives an empty mapping, so that the case becomes a row
        that says so.
    name : str
        Of the case.
    varied : mapping
        Table columns of what the study varies, with this case's values.
    mode : {"laminar", "turbulent", "both"}
        Which solutions of the flow the study asks for.
    given : mapping, optional
        What is known of each flow rate before it is solved, for `merged_flow`.
    """
    folder = Path(directory)
    return CaseResults(
        name,
        dict(varied),
        _read(folder / "bore.json"),
        _read(folder / "acoustics.json"),
        merged_flow(_read(folder / "flow.json"), _read(folder / "closure.json"), mode, given),
        _read(folder / "stream.json"),
    )


def _read(path: Path) -> dict[str, Any]:
    if not path.is_file():
        return {}
    found = read_json(path)
    if not isinstance(found, dict):
        raise ValueError(f"{path}: found a {type(found).__name__}, allowed is a JSON object")
    return found
