"""A case's fully turbulent flow at the study's rates."""

from collections.abc import Sequence
from pathlib import Path

from skfem import MeshTri2

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.closure.solve import LOWEST_REYNOLDS, solve_closure
from borestudy.flow.boundary import Inlet
from borestudy.flow.rows import rate_scale
from borestudy.mesh import (
    TURBULENT,
    TURBULENT_PLAIN,
    read_mesh,
    rows_fit,
    turbulent,
    write_mesh,
)
from borestudy.provenance import provenance, write_json
from borestudy.stages.flow import handbook_dimensions
from borestudy.stages.geometry import levels_up_to


def closure_stage(
    *,
    bore: Bore,
    meshes: Sequence[Path | str],
    air: Air,
    rates: Sequence[float],
    inlet: Inlet,
    finest: int,
    source: str,
    results: Path | str,
    fields: Path | str,
) -> None:
    """Mesh a bore for turbulent flow and solve the rates that can be turbulent.

    Parameters
    ----------
    bore : Bore
        What is meshed and solved.
    meshes : sequence of path
        Files to write, coarsest first.
    air : Air
        Its density, viscosity and speed of sound.
    rates : sequence of float [m³/s]
        Rising; those at too low a Reynolds number are named and left out.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    finest : int
        Mesh level of the last file.
    source : str
        Hash of the sources, for the provenance.
    results, fields : path
        The JSON file, and the folder for fields.
    """
    Path(fields).mkdir(parents=True, exist_ok=True)
    dimensions = handbook_dimensions(bore)
    numbers = [rate_scale(air, rate, dimensions.throat_diameter).reynolds for rate in rates]
    chosen = [
        rate for rate, number in zip(rates, numbers, strict=True) if number >= LOWEST_REYNOLDS
    ]

    with_rows = rows_fit(bore, TURBULENT)

    def meshed(height: float = 1.0) -> list[MeshTri2]:
        sizing = turbulent(max(numbers), height) if with_rows else TURBULENT_PLAIN
        for level, path in zip(levels_up_to(finest, len(meshes)), meshes, strict=True):
            write_mesh(bore, path, sizing, level)
        return [read_mesh(path) for path in meshes]

    found: dict = {"rates": [], "unknowns": []}
    first_guess = meshed()
    if chosen:
        found = solve_closure(
            first_guess,
            air,
            chosen,
            dimensions,
            inlet,
            throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
            fields=Path(fields),
            remesh=meshed if with_rows else None,
        )
    residuals = [row["residual"] for row in found["rates"] if row["converged"]]
    made = provenance(
        source,
        {f"mesh {index}": path for index, path in enumerate(meshes)},
        found["unknowns"],
        max(residuals, default=None),
    )
    lowest = {"lowest_throat_reynolds": LOWEST_REYNOLDS}
    write_json(results, found | lowest | {"provenance": made})
