"""One case as the figures need it: its outline, the two result files and where the fields are."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.report.tables.numbers import NOT_CONVERGED, NOT_MESHED
from borestudy.results.case import CaseResults

#: Folder of each solution's fields.
FIELDS = {"laminar": "flow", "turbulent": "closure"}


@dataclass(frozen=True)
class Outline:
    """The wall line of a bore, sampled for drawing.

    Attributes
    ----------
    position_mm, radius_mm : ndarray, shape (n,)
        Points along the wall from the rim plane to the shank end; steps are repeated positions.
    parts : dict of str to (float, float)
        Start and end of each named part [mm from the rim plane], in order.
    """

    position_mm: np.ndarray
    radius_mm: np.ndarray
    parts: Mapping[str, tuple[float, float]]

    @property
    def throat_start_mm(self) -> float:
        """Where the throat begins; the narrowest place if no part is called throat."""
        if "throat" in self.parts:
            return self.parts["throat"][0]
        return float(self.position_mm[np.argmin(self.radius_mm)])

    @property
    def throat_diameter_mm(self) -> float:
        """Diameter of the narrowest place."""
        return 2 * float(self.radius_mm.min())

    @property
    def entry_start_mm(self) -> float:
        """Where the throat entry begins; a square entry has no length of its own."""
        return self.parts["entry"][0] if "entry" in self.parts else self.throat_start_mm


def outline(bore: Any, points_per_curve: int = 48) -> Outline:
    """Sample a bore's segments for drawing: two points for a line, `points_per_curve` for a curve.

    Parameters
    ----------
    bore : Bore
        Its `segments` are rational Bézier curves with `points`, shape (n + 1, 2) [m],
        `weights`, shape (n + 1,), and `part`.
    points_per_curve : int
        Points on each segment that is not straight.

    Returns
    -------
    Outline
    """
    pieces: list[np.ndarray] = []
    parts: dict[str, tuple[float, float]] = {}
    for segment in bore.segments:
        piece = 1e3 * sample_curve(segment.points, segment.weights, points_per_curve)
        pieces.append(piece)
        start = parts.get(segment.part, (float(piece[0, 0]), 0.0))[0]
        parts[segment.part] = (start, float(piece[-1, 0]))
    line = np.concatenate(pieces)
    return Outline(line[:, 0], line[:, 1], parts)


def sample_curve(points: ArrayLike, weights: ArrayLike, count: int) -> np.ndarray:
    """Points on a rational Bézier curve at `count` even parameters (de Casteljau), shape (·, 2)."""
    control, weight = np.asarray(points, float), np.asarray(weights, float)
    if len(control) == 2:
        return control
    parameter = np.linspace(0, 1, count)[:, None, None]
    homogeneous = np.broadcast_to(
        np.column_stack([control * weight[:, None], weight]), (count, len(control), 3)
    )
    while homogeneous.shape[1] > 1:
        homogeneous = (1 - parameter) * homogeneous[:, :-1] + parameter * homogeneous[:, 1:]
    return homogeneous[:, 0, :2] / homogeneous[:, 0, 2:]


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
        row["flow_rate_L_per_s"]: directory / FIELDS[row["solution"]] / row["field"]
        for row in results.flow.get("rates", [])
        if row.get("converged") and "field" in row
    }
    acoustic_fields = sorted((directory / "acoustics").glob("*.vtu"))
    laminar = any(row["laminar_converged"] is not None for row in results.flow.get("rates", []))
    kinds = ("flow", "turbulent") if laminar else ("turbulent", "flow")
    written = [path for kind in kinds for path in sorted(directory.glob(f"mesh/{kind}-*.msh"))[-1:]]
    meshes = [path for path in written if why_unmeshed(path) is None]
    return CaseView(
        name=results.name,
        label=label or results.name,
        outline=case_outline,
        acoustics=results.acoustics,
        flow=results.flow,
        mesh_path=meshes[0] if meshes else None,
        flow_fields=fields,
        acoustic_field=acoustic_fields[-1] if acoustic_fields else None,
    )


def reference_rate(comparison: pd.DataFrame, flow: pd.DataFrame) -> float:
    """The flow rate [L/s] the comparison table is about, else the greatest one solved."""
    if "flow_rate_L_per_s" in comparison and comparison["flow_rate_L_per_s"].notna().any():
        return float(comparison["flow_rate_L_per_s"].dropna().iloc[0])
    return float(flow["flow_rate_L_per_s"].max())
