"""What holds on bores as studies have them: meshes, mass, starts, and the air that comes in."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from borestudy.bore import Bore, Entry, bore_from_dimensions
from borestudy.closure.levels import ClosureLevel, solve_closure_levels
from borestudy.closure.problem import INFLOW
from borestudy.closure.rows import scaled_figures
from borestudy.mesh import read_mesh, turbulent, write_mesh
from borestudy.results.check import Check
from borestudy.validation.walls import LEVELS, row

REYNOLDS = 5e3
#: One mesh more: what a study's finest one still lacks is seen from the next.
FINER = (*LEVELS, LEVELS[-1] + 1)
#: Permitted deviation [%]: of a drop from level to level, what a study's rate is wanted to; of mass
#: flux between sections and of a drop from two starts, a hundredth and a ten-thousandth of that; of
#: the whole drop between inflows a thousandfold apart, as much as between two levels, either side.
MESH_PERCENT, FLUX_PERCENT, START_PERCENT, INFLOW_PERCENT = 1.0, 0.01, 1e-4, 2.0
INFLOWS = (0.02, 20.0)
ENTRIES = {"square": Entry("square", (), 0.0), "rounded 0.5 mm": Entry("rounded", (5e-4,), 0.0)}


@dataclass(frozen=True)
class Case:
    """One bore's meshes and their solutions."""

    name: str
    diameter: float
    meshes: list[Any]
    levels: list[ClosureLevel]


def study_bore(entry: Entry) -> Bore:
    """A made-up bore of the trumpet class."""
    return bore_from_dimensions(
        length=88e-3,
        cup_diameter=16.2e-3,
        cup_depth=10.8e-3,
        cup_shape=0.6,
        throat_diameter=3.66e-3,
        throat_length=5e-3,
        entry=entry,
        backbore_end_diameter=9.0e-3,
        backbore_taper="straight",
    )


def solve_case(name: str, entry: Entry, directory: Path) -> Case:
    """Mesh and solve a bore on all levels."""
    directory.mkdir(parents=True, exist_ok=True)
    bore, meshes = study_bore(entry), []
    for level in FINER:
        path = directory / f"{name.replace(' ', '-')}-{level}.msh"
        write_mesh(bore, path, turbulent(REYNOLDS), level)
        meshes.append(read_mesh(path))
    diameter = 2 * bore.throat_radius
    return Case(
        name, diameter, meshes, solve_closure_levels(meshes, diameter, "uniform", [REYNOLDS])
    )


def bore_checks(directory: Path) -> dict[str, Any]:
    """Two bores on three meshes; one of them from another start and with other inflows."""
    cases = [solve_case(name, entry, directory) for name, entry in ENTRIES.items()]
    rows = [found for case in cases for found in mesh_rows(case)]
    case = cases[0]
    coarse = case.meshes[:1]
    reference = drop(case.levels[:1])
    again = solve_closure_levels(
        coarse, case.diameter, "uniform", [0.6 * REYNOLDS, REYNOLDS], start="previous"
    )
    rows.append(ratio("two starts", "whole drop, from a slower solution and from a plateau",
                      drop(again) / reference, START_PERCENT))  # fmt: skip
    for inflow in INFLOWS:
        other = solve_closure_levels(
            coarse, case.diameter, "uniform", [REYNOLDS], inflow=inflow, before=case.levels[0]
        )
        rows.append(ratio(f"working variable {inflow:g} at the rim plane",
                          f"whole drop over that with {INFLOW:g}",
                          drop(other) / reference, INFLOW_PERCENT))  # fmt: skip
    return {"checks": rows}


def drop(levels: Sequence[ClosureLevel]) -> float:
    """The whole drop on the last mesh at the last Reynolds number [q]."""
    return scaled_figures(levels[-1], levels[-1].states[-1])["pressure_drop"]


def mesh_rows(case: Case) -> list[dict[str, Any]]:
    """Drops of a study's mesh over those of the next, and the mass flux of inner sections."""
    first, last = (scaled_figures(level, level.states[0]) for level in case.levels[-2:])
    rows = [
        ratio(f"mesh independence, {case.name} entry", f"{words}, medium over fine mesh",
              first[key] / last[key], MESH_PERCENT)
        for key, words in (("to_throat_end", "drop to the throat's end"),
                           ("pressure_drop", "whole drop"))
    ]  # fmt: skip
    level = case.levels[len(LEVELS) - 1]
    velocity = level.task.space.flow.velocity(level.states[0].unknowns)
    fluxes = [
        float((tables.velocity(velocity[:1])[0] * tables.weights).sum())
        for tables in level.sections.values()
    ]
    worst = max(abs(flux / fluxes[0] - 1) for flux in fluxes)
    rows.append(ratio(f"mass flux, {case.name} entry", "1 + greatest error of any section",
                      1 + worst, FLUX_PERCENT))  # fmt: skip
    return rows


def ratio(check: str, quantity: str, computed: float, tolerance: float) -> dict[str, Any]:
    """A row about a ratio that should be one."""
    return row(
        Check(
            check=f"{check}, Re {REYNOLDS:.0f}",
            quantity=quantity,
            unit="1",
            computed=computed,
            reference=1.0,
            tolerance_percent=tolerance,
            source="identity",
        )
    )
