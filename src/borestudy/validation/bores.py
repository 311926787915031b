"""Bores as studies have them: convergence in the mesh, mass, starts, and the inflow's state.

All but the last are of the best estimate; what comes in matters where the air is turbulent from the
rim plane on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from skfem import MeshTri2

from borestudy.bore import Entry, bore_from_dimensions
from borestudy.flow.model import Model
from borestudy.flow.models.of_bore import model_of
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.observables.sections import scaled_figures
from borestudy.flow.solver import Level, solve_levels
from borestudy.mesh import ESTIMATE, read_mesh, turbulent, write_meshes
from borestudy.results.check import Check
from borestudy.validation.ladder import Solved

REYNOLDS = 5e3
#: Permitted deviation [%]: of a drop from level to level, what a study's rate is wanted to; of mass
#: flux between sections and of a drop from two starts, a hundredth and a ten-thousandth of that; of
#: the whole drop between inflows a thousandfold apart, as much as between two levels, either side.
MESH_PERCENT, FLUX_PERCENT, START_PERCENT, INFLOW_PERCENT = 1.0, 0.01, 1e-4, 2.0
#: Working variables of the model at the rim plane, over the kinematic viscosity.
INFLOWS = (0.02, 20.0)
#: A made-up bore of the trumpet class.
DIMENSIONS: Any = {
    "length": 88e-3, "cup_diameter": 16.2e-3, "cup_depth": 10.8e-3, "cup_shape": 0.6,
    "throat_diameter": 3.66e-3, "throat_length": 5e-3,
    "backbore_end_diameter": 9.0e-3, "backbore_taper": "straight",
}  # fmt: skip
#: The last one is also solved from another start and with other inflows.
ENTRIES = {"rounded 0.5 mm": Entry("rounded", (5e-4,), 0.0), "square": Entry("square", (), 0.0)}


@dataclass(frozen=True)
class BoreChecks(Solved):
    """The checks of both bores, which are ratios that should be one."""

    checks: tuple[Check, ...]


def solve_bores(directory: Path) -> BoreChecks:
    """Solve two bores on three meshes, one of them from another start and with other inflows."""
    checks = []
    for name, entry in ENTRIES.items():
        bore = bore_from_dimensions(**DIMENSIONS, entry=entry)
        # one mesh more: what a study's finest one still lacks is seen from the next
        stem = name.replace(" ", "-")
        paths = [directory / f"{stem}-{level}.msh" for level in range(ESTIMATE.levels + 1)]
        write_meshes(bore, paths, turbulent(REYNOLDS, preset=ESTIMATE))
        meshes = [read_mesh(path) for path in paths]
        diameter = 2 * bore.throat_radius
        model = model_of("estimate", bore)
        levels = solve_levels(model, meshes, diameter, "uniform", [REYNOLDS])
        checks += mesh_checks(name, levels)
    checks.append(two_starts(model, meshes[:1], diameter, drop(levels[:1])))
    return BoreChecks(tuple(checks + inflow_checks(meshes[:1], diameter)))


def drop(levels: Sequence[Level]) -> float:
    """The whole drop on the last mesh at the last Reynolds number [q]."""
    level = levels[-1]
    return scaled_figures(level.problem, level.state(-1), level.sections)["pressure_drop"]


def mesh_checks(name: str, levels: Sequence[Level]) -> list[Check]:
    """Compare drops of a study's mesh with the next, and the mass flux of inner sections."""
    first, last = (
        scaled_figures(level.problem, level.state(0), level.sections) for level in levels[-2:]
    )
    drops = {
        "pressure_drop_to_throat_end": "drop to the throat's end",
        "pressure_drop": "whole drop",
    }
    checks = []
    for key, words in drops.items():
        check, quantity = f"mesh independence, {name} entry", f"{words}, medium over fine mesh"
        checks.append(ratio(check, quantity, first[key] / last[key], MESH_PERCENT))
    level = levels[ESTIMATE.finest]
    velocity = level.problem.space.velocity(level.state(0).unknowns)
    fluxes = [
        float((tables.velocity(velocity[:1])[0] * tables.weights).sum())
        for tables in level.sections.values()
    ]
    worst = max(abs(flux / fluxes[0] - 1) for flux in fluxes)
    quantity = "1 + greatest error of any section"
    return [*checks, ratio(f"mass flux, {name} entry", quantity, 1 + worst, FLUX_PERCENT)]


def two_starts(model: Model, coarse: Sequence[MeshTri2], diameter: float, known: float) -> Check:
    """Compare the whole drop on one mesh with that from a slower solution."""
    again = solve_levels(model, coarse, diameter, "uniform", [0.6 * REYNOLDS, REYNOLDS])
    words = "whole drop, from a slower solution and from a plateau"
    return ratio("two starts", words, drop(again) / known, START_PERCENT)


def inflow_checks(coarse: Sequence[MeshTri2], diameter: float) -> list[Check]:
    """Compare the whole drop on one mesh with other inflows, turbulent from the rim plane on."""
    model = SpalartAllmaras()
    (before,) = solve_levels(model, coarse, diameter, "uniform", [REYNOLDS])
    words, checks = f"whole drop over that with {model.inflow:g}", []
    for inflow in INFLOWS:
        fed = SpalartAllmaras(inflow=inflow)
        other = drop(solve_levels(fed, coarse, diameter, "uniform", [REYNOLDS], before))
        name = f"working variable {inflow:g} at the rim plane"
        checks.append(ratio(name, words, other / drop([before]), INFLOW_PERCENT))
    return checks


def ratio(check: str, quantity: str, computed: float, tolerance: float) -> Check:
    """A ratio that should be one."""
    name = f"{check}, Re {REYNOLDS:.0f}"
    return Check(name, quantity, "1", computed, 1.0, tolerance, "identity")
