"""A case's steady flow at the study's rates."""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.closed_form.handbook import SMOOTH_ENTRY, SOURCES, Dimensions
from borestudy.flow.boundary import Inlet
from borestudy.flow.regime import check_rates
from borestudy.flow.solve import TOLERANCE, solve_flow
from borestudy.mesh import LAMINAR, read_mesh, why_unmeshed
from borestudy.provenance import completed, provenance, write_json
from borestudy.stages.solved_rates import joined, solved_rates


def flow_stage(
    *,
    bore: Bore,
    meshes: Sequence[Path | str],
    air: Air,
    rates: Sequence[float],
    inlet: Inlet,
    pipe_behind: float = 0.0,
    tolerance: float = TOLERANCE,
    source: str,
    results: Path | str,
    fields: Path | str,
) -> None:
    """Solve the flow on every level; write ``flow.json`` and one field a rate that converged.

    Rates that a former job of the case solved from the same things are taken from its folder.

    Parameters
    ----------
    bore : Bore
        What the meshes are of.
    meshes : sequence of path
        Coarsest first; those after the first two are for rates that need them.
    air : Air
        Its density, viscosity and speed of sound.
    rates : sequence of float [m³/s]
        Rising.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    pipe_behind : float
        Length [m] of the straight pipe that the meshes have behind the bore, 0 without.
    tolerance : float
        Numerical uncertainty wanted of the pressure drop, as a share of it.
    source : str
        Hash of the sources, for the provenance.
    results, fields : path
        The JSON file, and the folder for fields.
    """
    Path(fields).mkdir(parents=True, exist_ok=True)
    reason = why_unmeshed(*meshes)
    if reason is not None:
        write_json(results, unmeshed_flow(rates, reason) | {"provenance": provenance(source)})
        return
    dimensions = handbook_dimensions(bore, pipe_behind)
    throat = (bore.throat_start, bore.throat_end) if "throat" in bore.parts else None
    made = provenance(source, {f"mesh {index}": path for index, path in enumerate(meshes)})
    kept = solved_rates(
        results,
        {
            "source": source,
            "meshes": made["input_hashes"],
            "air": asdict(air),
            "dimensions": asdict(dimensions),
            "inlet": inlet,
            "throat": throat,
            "tolerance": tolerance,
        },
    )
    known = kept.read(rates)
    wanted = [rate for rate in rates if rate not in known]
    solved: dict = {}
    if wanted:
        solved = solve_flow(
            [read_mesh(path) for path in meshes],
            air,
            wanted,
            dimensions.throat_diameter,
            inlet,
            throat=throat,
            fields=Path(fields),
            tolerance=tolerance,
            least_levels=LAMINAR.levels,
        )
    warnings = check_rates(air, rates, dimensions.throat_diameter)
    found = joined(rates, solved, known, warnings)
    kept.put_beside(known, wanted, solved, Path(fields))
    found["handbook_sources"] = SOURCES
    residuals = [row["residual"] for row in found["rates"] if row["converged"]]
    made = completed(made, found["unknowns"], max(residuals, default=None))
    pipe = {"pipe_behind_mm": 1e3 * pipe_behind} if pipe_behind else {}
    write_json(results, found | pipe | {"provenance": made})


def unmeshed_flow(rates: Sequence[float], reason: str) -> dict[str, Any]:
    """Results of flow rates [m³/s] in a bore without a mesh: a row each, which says why."""
    return {
        "not_meshed": reason,
        "rates": [
            {"flow_rate_L_per_s": 1e3 * rate, "converged": False, "not_meshed": reason}
            for rate in rates
        ],
    }


def handbook_dimensions(bore: Bore, pipe_behind: float = 0.0) -> Dimensions:
    """What the handbooks need of a bore, with a length [m] of straight pipe behind it.

    The edge of a measured bore is known between its stations only: it may be anything from square
    to rounded so far that the flow follows it.
    """
    diameter = 2 * bore.throat_radius
    asked, chamfer = bore.entry, None
    radii = (0.0, SMOOTH_ENTRY * diameter)
    if asked is not None:
        radii = (min(asked.sizes, default=0.0), max(asked.sizes, default=0.0))
        if asked.shape == "chamfered":
            radii, chamfer = (0.0, 0.0), (asked.sizes[0], float(np.degrees(asked.angle)))
    return Dimensions(
        cup_diameter=2 * bore.rim_radius,
        throat_diameter=diameter,
        outlet_diameter=2 * bore.shank_radius,
        throat_length=bore.throat_end - bore.throat_start,
        backbore_length=bore.length - bore.throat_end,
        entry_radius=radii,
        chamfer=chamfer,
        funnel_angle=funnel_angle(bore),
        pipe_length=pipe_behind,
    )


def funnel_angle(bore: Bore) -> float | None:
    """Included angle of the cup's wall where the entry begins [degrees]; None without a funnel."""
    cup = [segment for segment in bore.segments if segment.part == "cup"]
    if not cup:
        return None
    along, across = cup[-1].tangent(1.0)
    angle = 2 * float(np.degrees(np.arctan2(-across, along)))
    return angle if 0 < angle < 180 else None
