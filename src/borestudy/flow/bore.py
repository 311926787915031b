"""A bore's flow on the meshes made for it: the one way that the workflow and notebooks take."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from skfem import MeshTri2

from borestudy.air import Air

from .boundary import Inlet
from .meshes import NO_LAYER, PRESETS, FlowMeshes
from .result import FlowAtRate, FlowResult
from .solve import MODELS, TOLERANCE, solve_rates


def solve_bore(
    files: FlowMeshes,
    ladder: Sequence[MeshTri2],
    air: Air,
    rates: Sequence[float],
    inlet: Inlet = "uniform",
    *,
    tolerance: float = TOLERANCE,
    fields: Path | None = None,
    known: Mapping[int, FlowAtRate] | None = None,
) -> FlowResult:
    """Solve the flow in a bore by the model that its meshes are for, each rate by itself.

    Parameters
    ----------
    files : FlowMeshes
        The bore, its model, and its meshes, which are made again where the wall needs lower cells.
    ladder : sequence of MeshTri2
        Meshes that `files` made last, coarsest first.
    air, rates, inlet, tolerance, fields, known
        See `solve_rates`.

    Returns
    -------
    FlowResult
        Result, with a warning for whatever the meshes lack.
    """
    bore = files.bore
    found = solve_rates(
        ladder,
        air,
        rates,
        2 * bore.throat_radius,
        inlet,
        model=MODELS[files.model],
        throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
        parts=bore.part_ranges,
        fields=fields,
        tolerance=tolerance,
        least_levels=PRESETS[files.model].levels,
        remesh=files.remesh,
        known=known,
    )
    plain = (f"{NO_LAYER}: {files.without_layer}",) if files.without_layer else ()
    return replace(
        found,
        boundary_layer_mesh=files.has_layer,
        first_cell_height=files.height,
        warnings=(*found.warnings, *plain),
    )
