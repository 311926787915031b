"""A case's fully turbulent flow at the study's rates."""

import logging
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from tempfile import TemporaryDirectory

from skfem import MeshTri2

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.closure.rows import guard_against_chance
from borestudy.closure.solve import solve_closure
from borestudy.flow.boundary import Inlet
from borestudy.flow.regime import LOWEST_TURBULENT, check_rates
from borestudy.flow.rows import rate_scale
from borestudy.mesh import (
    TURBULENT,
    TURBULENT_PLAIN,
    Preset,
    UnmeshedError,
    boundary_layer_fits,
    mark_unmeshed,
    read_mesh,
    turbulent,
    write_meshes,
)
from borestudy.provenance import file_hash, provenance, write_json
from borestudy.stages.flow import handbook_dimensions, unmeshed_flow
from borestudy.stages.solved_rates import joined, solved_rates

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
    resolution: str,
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
    resolution : {"coarse", "medium", "fine"}
        The study's word for its meshes.
    source : str
        Hash of the sources, for the provenance.
    results, fields : path
        The JSON file, and the folder for fields.
    """
    Path(fields).mkdir(parents=True, exist_ok=True)
    dimensions = handbook_dimensions(bore)
    numbers = [rate_scale(air, rate, dimensions.throat_diameter).reynolds for rate in rates]
    chosen = [
        rate for rate, number in zip(rates, numbers, strict=True) if number >= LOWEST_TURBULENT
    ]

    throat = (bore.throat_start, bore.throat_end) if "throat" in bore.parts else None
    kept = solved_rates(
        results,
        {
            "source": source,
            "bore": [[s.part, s.points, s.weights] for s in bore.segments],
            "greatest_reynolds": max(numbers),
            "resolution": resolution,
            "meshes": len(meshes),
            "air": asdict(air),
            "dimensions": asdict(dimensions),
            "inlet": inlet,
        },
    )
    known = kept.read(chosen)
    # The rows' height that those rates were found to need; another would make other meshes.
    heights = [next((entry["whole"]["row_height"] for entry in known.values()), 1.0)]

    def with_rows(height: float = 1.0) -> list[MeshTri2]:
        preset = turbulent(max(numbers), heights[0] * height).at(resolution)
        made = _meshed(bore, preset, meshes)
        heights[1:] = [heights[0] * height]
        return made

    first_guess, why_plain = None, LOW_STEP
    if boundary_layer_fits(bore, TURBULENT):
        try:
            first_guess = with_rows()
        except UnmeshedError as problem:
            why_plain = str(problem)
    rows = first_guess is not None
    if first_guess is None:
        logger.warning("%s: %s", NO_ROWS, why_plain)
        try:
            first_guess = _meshed(bore, TURBULENT_PLAIN.at(resolution), meshes)
        except UnmeshedError as problem:
            mark_unmeshed(meshes, str(problem))
            none = unmeshed_flow(chosen, str(problem))
            write_json(results, none | {"provenance": provenance(source)})
            return

    def solve(guess: Sequence[MeshTri2], those: Sequence[float]) -> dict:
        if not those:
            return {}
        return solve_closure(
            guess,
            air,
            those,
            dimensions.throat_diameter,
            inlet,
            throat=throat,
            fields=Path(fields),
            remesh=with_rows if rows else None,
        )

    def of_these_meshes(entries: Mapping[float, Mapping]) -> dict:
        hashes = [file_hash(path) for path in meshes]
        return {rate: e for rate, e in entries.items() if e["whole"]["mesh_hashes"] == hashes}

    known = of_these_meshes(known)
    wanted = [rate for rate in chosen if rate not in known]
    solved = solve(first_guess, wanted)
    if len(of_these_meshes(known)) < len(known):
        # A new rate needs lower rows than the others were solved with: as if there were no others.
        known, wanted, heights = {}, chosen, [1.0]
        solved = solve(with_rows(), wanted)
    if solved:
        solved["row_height"] = heights[-1]
        solved["mesh_hashes"] = [file_hash(path) for path in meshes]
        for entry in known.values():
            solved["wall_refinements"] = entry["whole"]["wall_refinements"]
    found = joined(
        chosen,
        solved,
        known,
        check_rates(air, chosen, dimensions.throat_diameter) if chosen else [],
    )
    guard_against_chance(found["rates"])
    kept.put_beside(known, wanted, solved, Path(fields))
    residuals = [row["residual"] for row in found["rates"] if row["converged"]]
    made = provenance(
        source,
        {f"mesh {index}": path for index, path in enumerate(meshes)},
        found["unknowns"],
        max(residuals, default=None),
    )
    whole = {"lowest_throat_reynolds": LOWEST_TURBULENT, "rows_along_the_wall": rows}
    if not rows:
        found["warnings"] = [*found.get("warnings", []), f"{NO_ROWS}: {why_plain}"]
    write_json(results, found | whole | {"provenance": made})


def _meshed(bore: Bore, preset: Preset, paths: Sequence[Path | str]) -> list[MeshTri2]:
    """Meshes of one kind on every level; the files change all or not at all."""
    Path(paths[0]).parent.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".meshes.", dir=Path(paths[0]).parent) as folder:
        made = [Path(folder) / Path(path).name for path in paths]
        write_meshes(bore, made, preset)
        read = [read_mesh(path) for path in made]
        for path, place in zip(made, paths, strict=True):
            os.replace(path, place)
    return read
