"""A case's turbulent flow beside its laminar one, and the closure's validation."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.closure.solve import LOWEST_REYNOLDS, solve_closure
from borestudy.compare.check import Check
from borestudy.compare.solutions import solution_rows
from borestudy.compare.validate_closure import (
    NOZZLE_SEGMENTS,
    NOZZLE_SOURCE,
    conical_diffuser,
    entry_losses,
    nozzle_checks,
    nozzle_segments,
    pipe_friction,
    sudden_expansion,
)
from borestudy.flow.boundary import Inlet
from borestudy.flow.rows import rate_scale
from borestudy.mesh import read_mesh, turbulent, write_mesh
from borestudy.present.closure import draw_entry_losses
from borestudy.provenance import provenance, read_json, write_json
from borestudy.stages.flow import handbook_dimensions
from borestudy.stages.geometry import levels_up_to
from borestudy.stages.verification import write_checks


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
    for level, path in zip(levels_up_to(finest, len(meshes)), meshes, strict=True):
        write_mesh(bore, path, turbulent(max(numbers)), level)
    found: dict = {"rates": [], "unknowns": []}
    if chosen:
        found = solve_closure(
            [read_mesh(path) for path in meshes],
            air,
            chosen,
            dimensions,
            inlet,
            throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
            fields=Path(fields),
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


def write_solutions(folders: Mapping[str, Path], table: Path | str) -> None:
    """Both solutions of every case and rate beside each other.

    Parameters
    ----------
    folders : mapping
        Folder of each case, in the study's order.
    table : path
        The CSV to write.
    """
    laminar = {name: read_json(folder / "flow.json") for name, folder in folders.items()}
    closed = {name: read_json(folder / "closure.json") for name, folder in folders.items()}
    pd.DataFrame(solution_rows(laminar, closed)).to_csv(table, index=False, float_format="%.6g")


def validate_closure(checks: Path, segments: Path, figures: Path, meshes: Path) -> None:
    """Solve everything the closure is held against; write checks, nozzle segments and a figure."""
    meshes.mkdir(parents=True, exist_ok=True)
    nozzle = nozzle_segments(meshes)
    rows = [
        {
            "from_mm": first,
            "to_mm": last,
            "computed_q": nozzle[first, last],
            "measured_q": measured,
            "deviation_q": nozzle[first, last] - measured,
            "source": NOZZLE_SOURCE,
        }
        for (first, last), measured in NOZZLE_SEGMENTS.items()
    ]
    pd.DataFrame(rows).to_csv(segments, index=False, float_format="%.4g")
    entries = entry_losses(meshes)
    found: list[Check] = [
        *pipe_friction(meshes),
        *entries,
        sudden_expansion(meshes),
        conical_diffuser(meshes),
        *nozzle_checks(nozzle),
    ]
    write_checks(found, checks)
    draw_entry_losses(entries, figures)
