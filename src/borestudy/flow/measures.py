r"""Integral measures of a flow: pressure drop, loss of mechanical energy and where it goes.

With :math:`\langle\cdot\rangle` an integral over a section weighted by :math:`r`, the scaled
mechanical-energy head of a section is :math:`\langle (p + |u|^2/2) u_x \rangle / \langle u_x
\rangle`.  Between the rim plane and any section downstream it falls by exactly the dissipation

.. math:: \frac{2}{Re} \int \Big( e(u):e(u) + \frac{u_r^2}{r^2} \Big) r\,dx\,dr

of the fluid between them (Bird, Stewart & Lightfoot 2002, eq. 7.4-2); viscous stress does no
work on the two end planes, where the radial velocity is zero.  What does not close is energy that
the discretisation itself takes or gives.  In the pressures of this module :math:`\rho U^2` is 1.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .boundary import SCALED_FLUX
from .convection import velocity_and_gradient
from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables
from .outlet import outlet_pressure
from .problem import Problem, State

#: Names of interior lines of edges at the end of a part, and how they are found.
SECTION_PREFIX, SECTION_SUFFIX = "section_", "_end"


@dataclass(frozen=True)
class SectionMeasures:
    """Means over one section, scaled.

    `pressure` is the area mean and `mixed_pressure` the flux-weighted one, `head` the flux-weighted
    mechanical energy, `flux` the flux over that of the throat's mean velocity, `kinetic_factor`
    the kinetic-energy factor (2 for a parabola, 1 for a uniform profile), `area` that of the
    section over the throat's.
    """

    pressure: float
    mixed_pressure: float
    head: float
    flux: float
    kinetic_factor: float
    area: float


def section_tables(space: Discretisation) -> dict[str, EdgeTables]:
    """The rim plane, the end of each part and the shank end, in order downstream."""
    boundaries = space.mesh.boundaries or {}
    inner = {}
    for name, edges in boundaries.items():
        if name.startswith(SECTION_PREFIX) and name.endswith(SECTION_SUFFIX) and len(edges):
            inner[name.removeprefix(SECTION_PREFIX)] = edge_tables(space, edges)
    ordered = sorted(inner, key=lambda name: float(inner[name].position[0].mean()))
    end = float(space.mesh.doflocs[0].max())
    return {
        "rim_plane": edge_tables(space, boundaries["rim_plane"]),
        # the last part's end is the shank end itself
        **{name: inner[name] for name in ordered if inner[name].position[0].max() < end - 1e-6},
        "shank_end": edge_tables(space, boundaries["shank_end"]),
    }


def pressure_work(
    problem: Problem,
    residual: NDArray[np.float64],
    state: State,
    boundary: str = "rim_plane",
) -> float:
    """Head that the traction on an end with prescribed velocity brings in, from the weak form.

    The weak form against the boundary's own velocity is the power of the traction there.  It
    converges with the square of the velocity's order, while a mean of the linear pressure over
    the section converges with the square of the element size only (Babuška & Miller 1984, Int. J.
    Numer. Methods Eng. 20, 1085).  No viscous part is in it: where the radial velocity is zero
    over a plane, so is the axial stretching, by continuity.

    Parameters
    ----------
    problem : Problem
        With its boundary values.
    residual : ndarray, shape (unknowns,)
        Of the weak form, or its derivative along the branch.
    state : State
        The solution.
    boundary : str
        Name of the end.
    """
    space = problem.space
    here = space.velocity_basis.get_dofs(boundary).flatten()
    force = residual[: 2 * space.nodes].reshape(2, -1)[:, here]
    return float(np.sum(force * space.velocity(state.unknowns)[:, here]) / SCALED_FLUX)


def bore_sections(
    problem: Problem, state: State, sections: dict[str, EdgeTables]
) -> dict[str, SectionMeasures]:
    """Measures of every section, the two ends' pressures from the work done there."""
    space = problem.space
    measures = {name: _direct_measures(space, state, tables) for name, tables in sections.items()}
    residual = problem.residual(state.unknowns, state.reynolds)
    rim = measures["rim_plane"]
    offset = pressure_work(problem, residual, state) - rim.mixed_pressure
    measures["rim_plane"] = replace(
        rim,
        pressure=rim.pressure + offset,
        mixed_pressure=rim.mixed_pressure + offset,
        head=rim.head + offset,
    )
    if problem.outlet is not None:
        measures["shank_end"] = _with_pressure(
            measures["shank_end"], problem.outlet, space.velocity(state.unknowns)
        )
    return measures


def pressure_drop_slope(problem: Problem, state: State, rim: EdgeTables) -> float:
    """Derivative of the scaled pressure drop by the Reynolds number on the branch."""
    space = problem.space
    change = problem.residual_slope(state.unknowns, state.reynolds, state.tangent)
    pressure = rim.pressure(space.pressure(state.tangent))
    speed = rim.velocity(space.velocity(state.unknowns)[:1])[0]
    weights = rim.weights
    mean = np.sum(pressure * weights) / np.sum(weights)
    mixed = np.sum(pressure * speed * weights) / np.sum(speed * weights)
    at_rim = pressure_work(problem, change, state) + float(mean - mixed)
    if problem.outlet is None:
        return at_rim
    weights = problem.outlet.weights
    inward = np.minimum(problem.outlet.velocity(space.velocity(state.unknowns)[:1])[0], 0)
    change = problem.outlet.velocity(space.velocity(state.tangent)[:1])[0]
    return at_rim + float(np.sum(inward * change * weights) / np.sum(weights))


def _with_pressure(
    section: SectionMeasures, outlet: EdgeTables, velocity: NDArray[np.float64]
) -> SectionMeasures:
    """The shank end with the pressure that the outlet condition itself holds there."""
    pressure, weights = outlet_pressure(outlet, velocity), outlet.weights
    speed = outlet.velocity(velocity[:1])[0]
    mixed = float(np.sum(pressure * speed * weights) / np.sum(speed * weights))
    return replace(
        section,
        pressure=float(np.sum(pressure * weights) / np.sum(weights)),
        mixed_pressure=mixed,
        head=section.head + mixed - section.mixed_pressure,
    )


def _direct_measures(space: Discretisation, state: State, tables: EdgeTables) -> SectionMeasures:
    speed, radial = tables.velocity(space.velocity(state.unknowns))
    pressure = tables.pressure(space.pressure(state.unknowns))
    weights = tables.weights
    area, flux = np.sum(weights), np.sum(speed * weights)
    mixed = np.sum(pressure * speed * weights) / flux
    kinetic = 0.5 * np.sum((speed**2 + radial**2) * speed * weights) / flux
    return SectionMeasures(
        pressure=float(np.sum(pressure * weights) / area),
        mixed_pressure=float(mixed),
        head=float(mixed + kinetic),
        flux=float(flux / SCALED_FLUX),
        kinetic_factor=float(kinetic / (0.5 * (flux / area) ** 2)),
        area=float(area / SCALED_FLUX),
    )


def dissipation_by_element(space: Discretisation, state: State) -> NDArray[np.float64]:
    """Head dissipated in each element, scaled: its sum is the fall of mechanical energy."""
    tables = space.tables
    value, gradient = velocity_and_gradient(tables, space.velocity(state.unknowns))
    radius = np.asarray(space.velocity_basis.global_coordinates())[1]
    shear = gradient[0, 1] + gradient[1, 0]
    rate = gradient[0, 0] ** 2 + gradient[1, 1] ** 2 + 0.5 * shear**2 + (value[1] / radius) ** 2
    power = np.sum(rate * tables.weights, axis=1)
    return 2 / state.reynolds * power / SCALED_FLUX


@dataclass(frozen=True)
class EnergyBudget:
    """Scaled heads: what the flow loses from rim plane to shank end, and where.

    `loss` is the fall of mechanical energy, `dissipation` the total by viscosity and `by_part` its
    share in each named part; `imbalance` is (loss − dissipation) / dissipation.
    """

    loss: float
    dissipation: float
    by_part: dict[str, float]
    imbalance: float


def energy_budget(
    space: Discretisation, state: State, sections: dict[str, SectionMeasures]
) -> EnergyBudget:
    """Close the mechanical-energy balance over the whole bore."""
    each = dissipation_by_element(space, state)
    total = float(each.sum())
    loss = sections["rim_plane"].head - sections["shank_end"].head
    parts = {
        name: float(each[elements].sum())
        for name, elements in (space.mesh.subdomains or {}).items()
        if not name.startswith("gmsh:")
    }
    return EnergyBudget(loss, total, parts, (loss - total) / total)
