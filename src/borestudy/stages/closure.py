"""A case's fully turbulent flow at the study's rates."""

import logging
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from skfem import MeshTri2

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.closure.solve import LOWEST_REYNOLDS, solve_closure
from borestudy.flow.boundary import Inlet
from borestudy.flow.rows import rate_scale
from borestudy.mesh import (
    TURBULENT,
    TURBULENT_PLAIN,
    MeshError,
    Sizing,
    read_mesh,
    rows_fit,
    turbulent,
    write_mesh,
)
from borestudy.provenance import provenance, write_json
from borestudy.stages.flow import handbook_dimensions
from borestudy.stages.geometry import levels_up_to

logger = logging.getLogger(__name__)

NO_ROWS = "turbulent, on plain triangles without rows of flat ones along the wall"
#: Why a bore gets no rows along its wall without trying.
LOW_STEP = "a step of the wall is lower than the rows are thick"


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

    Where no rows of flat triangles can be laid along the wall the meshes are of plain triangles:
    the results say so, and rates that would need rows say ``y+ too large``.

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

    levels = levels_up_to(finest, len(meshes))

    def with_rows(height: float = 1.0) -> list[MeshTri2]:
        return _meshed(bore, turbulent(max(numbers), height), levels, meshes)

    first_guess, why_plain = None, LOW_STEP
    if rows_fit(bore, TURBULENT):
        try:
            first_guess = with_rows()
        except MeshError as problem:
            why_plain = str(problem)
    rows = first_guess is not None
    if first_guess is None:
        logger.warning("%s: %s", NO_ROWS, why_plain)
        first_guess = _meshed(bore, TURBULENT_PLAIN, levels, meshes)

    found: dict = {"rates": [], "unknowns": []}
    if chosen:
        found = solve_closure(
            first_guess,
            air,
            chosen,
            dimensions,
            inlet,
            throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
            fields=Path(fields),
            remesh=with_rows if rows else None,
        )
    residuals = [row["residual"] for row in found["rates"] if row["converged"]]
    made = provenance(
        source,
        {f"mesh {index}": path for index, path in enumerate(meshes)},
        found["unknowns"],
        max(residuals, default=None),
    )
    whole = {"lowest_throat_reynolds": LOWEST_REYNOLDS, "rows_along_the_wall": rows}
    if not rows:
        found["warnings"] = [*found.get("warnings", []), f"{NO_ROWS}: {why_plain}"]
    write_json(results, found | whole | {"provenance": made})


def _meshed(
    bore: Bore, sizing: Sizing, levels: Iterable[int], paths: Sequence[Path | str]
) -> list[MeshTri2]:
    """Meshes of one kind on every level; the files change all or not at all."""
    Path(paths[0]).parent.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".meshes.", dir=Path(paths[0]).parent) as folder:
        made = [Path(folder) / Path(path).name for path in paths]
        for level, path in zip(levels, made, strict=True):
            write_mesh(bore, path, sizing, level)
        read = [read_mesh(path) for path in made]
        for path, place in zip(made, paths, strict=True):
            os.replace(path, place)
    return read
