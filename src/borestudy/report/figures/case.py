"""One case as the figures need it: its outline, its results, and where the fields are."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from borestudy.drawing.bore import Outline
from borestudy.flow.result import FlowAtRate
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.report.labels import NOT_CONVERGED, NOT_MESHED
from borestudy.results.case import CaseResults, flow_rates
from borestudy.results.merged_flow import LAMINAR, SOLUTIONS, TURBULENT

#: Folder of each solution's fields.
FIELDS = {LAMINAR: "flow", TURBULENT: "closure"}


@dataclass(frozen=True, kw_only=True)
class CaseView:
    """What the figures need of one case.

    Attributes
    ----------
    label : str
        The short text on figures.
    outline : Outline
        The bore's wall line.
    results : CaseResults
        Of the case; its name is that in the tables.
    flow_fields : mapping of int to Path
        The field file of a flow rate, by the rate's index in the study.
    acoustic_field, mesh_path : Path or None
        The field of a resonance, and the finest mesh.
    """

    label: str
    outline: Outline
    results: CaseResults
    flow_fields: Mapping[int, Path]
    acoustic_field: Path | None = None
    mesh_path: Path | None = None

    @property
    def name(self) -> str:
        """The case's name in the tables."""
        return self.results.name

    @property
    def unsolved(self) -> str:
        """In few words, why a flow rate of the case has no solution."""
        return NOT_MESHED if self.results.flow.not_meshed else NOT_CONVERGED

    def solutions(self, rate: int) -> dict[str, FlowAtRate]:
        """The solutions that converged at the flow rate of an index, by their names."""
        row = self.results.rate(rate)
        if row is None:
            return {}
        return {word: found for word in SOLUTIONS if (found := row.of(word)) is not None}


def read_case(directory: Path, results: CaseResults, outline: Outline, label: str = "") -> CaseView:
    """Find a case's fields and its finest mesh, and put its results beside them.

    A rate's field is of the solution that the rate's figures are from.
    """
    fields = {
        index: directory / FIELDS[row.solution] / row.figures.field
        for index, row in enumerate(results.rates)
        if row.solution and row.figures and row.figures.field
    }
    acoustic_fields = sorted((directory / "acoustics").glob("*.vtu"))
    laminar = any(row.laminar is not None for row in results.rates)
    written = [
        path
        for word in (SOLUTIONS if laminar else SOLUTIONS[::-1])
        for path in sorted(directory.glob(f"mesh/{word}-*.msh"))[-1:]
        if why_unmeshed(path) is None
    ]
    return CaseView(
        label=label or results.name,
        outline=outline,
        results=results,
        flow_fields=fields,
        acoustic_field=acoustic_fields[-1] if acoustic_fields else None,
        mesh_path=written[0] if written else None,
    )


def reference_rate(comparison: pd.DataFrame, flow: pd.DataFrame) -> float:
    """The flow rate [L/s] the comparison table is about, else the greatest one solved."""
    if "flow_rate_L_per_s" in comparison and comparison["flow_rate_L_per_s"].notna().any():
        return float(comparison["flow_rate_L_per_s"].dropna().iloc[0])
    return float(flow["flow_rate_L_per_s"].max())


def in_words(cases: Sequence[CaseView], rate: int) -> tuple[str, str]:
    """The flow rate of an index with its unit, and the regimes that the cases have there."""
    flow_rate = flow_rates([case.results for case in cases])[rate]
    rows = [row for case in cases if (row := case.results.rate(rate)) is not None]
    return f"{flow_rate:g} L/s", ", ".join(sorted({row.regime for row in rows}))
