"""One case as the figures need it: its outline, the two result files and where the fields are."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from borestudy.acoustics.result import AcousticResult
from borestudy.drawing.bore import Outline
from borestudy.flow.result import FlowAtRate
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.records import to_plain
from borestudy.report.labels import NOT_CONVERGED, NOT_MESHED
from borestudy.results.case import CaseResults

#: Folder of each solution's fields.
FIELDS = {"laminar": "flow", "turbulent": "closure"}


@dataclass(frozen=True)
class CaseView:
    """What the figures need of one case.

    `name` is the tables' case name, `label` the short text on figures. `acoustics` and `flow` are
    the case's results; `flow_fields` maps a flow rate [L/s] to its field file.
    """

    name: str
    label: str
    outline: Outline
    acoustics: Mapping[str, Any] = field(default_factory=dict)
    flow: Mapping[str, Any] = field(default_factory=dict)
    mesh_path: Path | None = None
    flow_fields: Mapping[float, Path] = field(default_factory=dict)
    acoustic_field: Path | None = None

    def rate(self, flow_rate: float) -> Mapping[str, Any]:
        """The flow result at a flow rate [L/s], empty if there is none."""
        for entry in self.flow.get("rates", []):
            if abs(entry["flow_rate_L_per_s"] - flow_rate) <= 1e-6 * flow_rate:
                return entry
        return {}

    @property
    def unsolved(self) -> str:
        """In few words, why a flow rate of the case has no solution."""
        return NOT_MESHED if self.flow.get("not_meshed") else NOT_CONVERGED

    def flow_field(self, flow_rate: float) -> Path | None:
        """The field file of a flow rate [L/s], if it was written."""
        for rate, path in self.flow_fields.items():
            if abs(rate - flow_rate) <= 1e-6 * flow_rate:
                return path
        return None


def read_case(
    directory: Path, results: CaseResults, case_outline: Outline, label: str = ""
) -> CaseView:
    """Find a case's fields and its finest mesh, and put its results beside them.

    Each rate's row names its field, which is of the solution that the row has.
    """
    fields = {
        row.flow_rate_L_per_s: directory / FIELDS[row.solution] / row.figures.field
        for row in results.rates
        if row.figures is not None and row.solution and row.figures.field
    }
    acoustic_fields = sorted((directory / "acoustics").glob("*.vtu"))
    laminar = any(row.laminar is not None for row in results.rates)
    kinds = ("laminar", "turbulent") if laminar else ("turbulent", "laminar")
    written = [path for kind in kinds for path in sorted(directory.glob(f"mesh/{kind}-*.msh"))[-1:]]
    meshes = [path for path in written if why_unmeshed(path) is None]
    return CaseView(
        name=results.name,
        label=label or results.name,
        outline=case_outline,
        acoustics=_known(results.acoustics),
        flow={
            "not_meshed": results.flow.not_meshed,
            "rates": [
                _known(row.figures)
                | {
                    "flow_rate_L_per_s": row.flow_rate_L_per_s,
                    "regime": row.regime,
                    "solution": row.solution,
                }
                for row in results.rates
            ],
        },
        mesh_path=meshes[0] if meshes else None,
        flow_fields=fields,
        acoustic_field=acoustic_fields[-1] if acoustic_fields else None,
    )


def _known(record: AcousticResult | FlowAtRate | None) -> dict[str, Any]:
    """A record by its keys, without what is not known."""
    plain = {} if record is None else to_plain(record)
    return {key: value for key, value in plain.items() if value is not None}


def reference_rate(comparison: pd.DataFrame, flow: pd.DataFrame) -> float:
    """The flow rate [L/s] the comparison table is about, else the greatest one solved."""
    if "flow_rate_L_per_s" in comparison and comparison["flow_rate_L_per_s"].notna().any():
        return float(comparison["flow_rate_L_per_s"].dropna().iloc[0])
    return float(flow["flow_rate_L_per_s"].max())
