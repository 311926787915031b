r"""Integral measures of a flow: pressure drop, loss of mechanical energy and where it goes.

With :math:`\langle\cdot\rangle` an integral over a section weighted by :math:`r`, the scaled
mechanical-energy head of a section is :math:`\langle (p + |u|^2/2) u_x \rangle / \langle u_x
\rangle`.  Between the rim plane and any section downstream it falls by exactly the dissipation

.. math:: \frac{2}{Re} \int \Big( e(u):e(u) + \frac{u_r^2}{r^2} \Big) r\,dx\,dr

of the fluid between them, less the work of viscous stress on the two sections (Bird, Stewart &
Lightfoot 2002, eq. 7.4-2).  Both sides are computed independently, so what does not close is
discretisation error.  In the pressures of this module :math:`\rho U^2` is 1.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .boundary import SCALED_FLUX
from .convection import velocity_and_gradient
from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables
from .newton import FlowState

#: Names of interior lines of edges at the end of a part, and how they are found.
SECTION_PREFIX, SECTION_SUFFIX = "section_", "_end"


@dataclass(frozen=True)
class SectionMeasures:
    """Means over one section, scaled.

    `pressure` is the area mean, `head` the flux-weighted mechanical energy, `flux` the flux over
    that of the throat's mean velocity, `kinetic_factor` the kinetic-energy factor (2 for a
    parabola, 1 for a uniform profile), `mixed_pressure` the flux-weighted
    mean, `viscous_work` the head brought through the section by viscous stress, `area` that of the section over the throat's.
    """

    pressure: float
    head: float
    flux: float
    kinetic_factor: float
    mixed_pressure: float
    viscous_work: float
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


def mean_pressure(tables: EdgeTables, nodal: NDArray[np.float64]) -> float:
    """Area mean of nodal pressures over a section."""
    weights = tables.weights
    return float(np.sum(tables.pressure(nodal) * weights) / np.sum(weights))


def section_measures(
    space: Discretisation, state: FlowState, tables: EdgeTables
) -> SectionMeasures:
    """Means over one section of a state."""
    nodal = space.velocity(state.unknowns)
    speed, radial = tables.velocity(nodal)
    stretch = tables.gradient(nodal[:1])[0, 0]
    pressure = tables.pressure(space.pressure(state.unknowns))
    weights = tables.weights
    area, flux = np.sum(weights), np.sum(speed * weights)
    kinetic = 0.5 * np.sum((speed**2 + radial**2) * speed * weights)
    mean = flux / area
    return SectionMeasures(
        pressure=float(np.sum(pressure * weights) / area),
        head=float((np.sum(pressure * speed * weights) + kinetic) / flux),
        flux=float(flux / SCALED_FLUX),
        kinetic_factor=float(kinetic / (0.5 * mean**2 * flux)),
        mixed_pressure=float(np.sum(pressure * speed * weights) / flux),
        viscous_work=float(-2 / state.reynolds * np.sum(stretch * speed * weights) / flux),
        area=float(area / SCALED_FLUX),
    )


def dissipation_by_element(space: Discretisation, state: FlowState) -> NDArray[np.float64]:
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

    `loss` is the fall of mechanical energy, `viscous_work` what viscous stress brings in at the
    rim plane, `dissipation` the total and `by_part` its share in each named part; `imbalance` is
    (loss + viscous work − dissipation) / dissipation.
    """

    loss: float
    viscous_work: float
    dissipation: float
    by_part: dict[str, float]
    imbalance: float


def energy_budget(
    space: Discretisation, state: FlowState, sections: dict[str, SectionMeasures]
) -> EnergyBudget:
    """Close the mechanical-energy balance over the whole bore."""
    each = dissipation_by_element(space, state)
    total = float(each.sum())
    rim, end = sections["rim_plane"], sections["shank_end"]
    loss = rim.head - end.head
    work = rim.viscous_work - end.viscous_work
    parts = {
        name: float(each[elements].sum())
        for name, elements in (space.mesh.subdomains or {}).items()
        if not name.startswith("gmsh:")
    }
    return EnergyBudget(loss, work, total, parts, (loss + work - total) / total)
