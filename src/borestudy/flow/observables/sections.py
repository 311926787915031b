r"""Means over cross-sections, and the scaled figures that follow from those at both ends.

With :math:`\langle\cdot\rangle` an integral over a section weighted by :math:`r`, the mechanical
energy head of a section is :math:`\langle (p + |u|^2/2) u_x \rangle / \langle u_x \rangle`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.boundary import SCALED_FLUX, outlet_pressure
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.edges import EdgeTables, edge_tables
from borestudy.flow.problem import Problem, State

#: Names of interior lines of edges at the end of a part, and how they are found.
SECTION_PREFIX, SECTION_SUFFIX = "section_", "_end"
RIM_PLANE, THROAT_END, SHANK_END = "rim_plane", "throat_end", "shank_end"


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
    """The rim plane, the end of each part and the shank end, in order downstream.

    An end at which the mesh has no line of edges is left out: a boundary-layer mesh round a square
    edge draws none there, so that such a cup's end is missing.
    """
    boundaries = space.mesh.boundaries or {}
    inner = {}
    for name, edges in boundaries.items():
        if name.startswith(SECTION_PREFIX) and name.endswith(SECTION_SUFFIX) and len(edges):
            inner[name.removeprefix(SECTION_PREFIX)] = edge_tables(space, edges)
    ordered = sorted(inner, key=lambda name: float(inner[name].position[0].mean()))
    end = float(space.mesh.doflocs[0].max())
    return {
        RIM_PLANE: edge_tables(space, boundaries[RIM_PLANE]),
        # the last part's end is the shank end itself
        **{name: inner[name] for name in ordered if inner[name].position[0].max() < end - 1e-6},
        SHANK_END: edge_tables(space, boundaries[SHANK_END]),
    }


def pressure_work(
    task: Problem, residual: Floats, state: State, boundary: str = RIM_PLANE
) -> float:
    """Head that the traction on an end with prescribed velocity brings in, from the weak form.

    The weak form against the boundary's own velocity is the power of the traction there.  It
    converges with the square of the velocity's order, while a mean of the linear pressure over
    the section converges with the square of the element size only (Babuška & Miller 1984, Int. J.
    Numer. Methods Eng. 20, 1085).  No viscous part is in it: where the radial velocity is zero
    over a plane, so is the axial stretching, by continuity.  `residual` (unknowns,) is the weak
    form's, or its derivative along the branch.
    """
    space = task.space
    here = space.velocity_basis.get_dofs(boundary).flatten()
    force = residual[: 2 * space.nodes].reshape(2, -1)[:, here]
    return float(np.sum(force * space.velocity(state.unknowns)[:, here]) / SCALED_FLUX)


def bore_sections(
    task: Problem, state: State, sections: Mapping[str, EdgeTables]
) -> dict[str, SectionMeasures]:
    """Measures of every section, the rim plane's pressure from the work done there.

    The shank end's pressure is the one that the outlet condition itself holds, where it is free.
    """
    space = task.space
    velocity, pressure = space.velocity(state.unknowns), space.pressure(state.unknowns)
    measures = {
        name: _measures(tables, velocity, tables.pressure(pressure))
        for name, tables in sections.items()
    }
    rim = measures[RIM_PLANE]
    residual = task.residual(state.unknowns, state.reynolds)
    offset = pressure_work(task, residual, state) - rim.mixed_pressure
    moved = {name: getattr(rim, name) + offset for name in ("pressure", "mixed_pressure", "head")}
    measures[RIM_PLANE] = replace(rim, **moved)
    if task.outlet is not None:
        held = outlet_pressure(task.outlet, velocity)
        measures[SHANK_END] = _measures(task.outlet, velocity, held)
    return measures


def _measures(tables: EdgeTables, velocity: Floats, pressure: Floats) -> SectionMeasures:
    speed, radial = tables.velocity(velocity)
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


def pressure_drop_slope(task: Problem, state: State, rim: EdgeTables) -> float:
    """Derivative of the scaled pressure drop by the Reynolds number along the branch."""
    space = task.space
    velocity, change = space.velocity(state.unknowns), space.velocity(state.tangent)
    residual = task.residual_slope(state.unknowns, state.reynolds, state.tangent)
    pressure = rim.pressure(space.pressure(state.tangent))
    speed, weights = rim.velocity(velocity[:1])[0], rim.weights
    mean = np.sum(pressure * weights) / np.sum(weights)
    mixed = np.sum(pressure * speed * weights) / np.sum(speed * weights)
    at_rim = pressure_work(task, residual, state) + float(mean - mixed)
    if task.outlet is None:
        return at_rim
    # the pressure held at the outlet moves where air comes back in
    weights = task.outlet.weights
    inward = np.minimum(task.outlet.velocity(velocity[:1])[0], 0)
    moved = inward * task.outlet.velocity(change[:1])[0]
    return at_rim + float(np.sum(moved * weights) / np.sum(weights))


def scaled_figures(
    task: Problem,
    state: State,
    sections: Mapping[str, EdgeTables],
    measures: Mapping[str, SectionMeasures] | None = None,
) -> dict[str, float]:
    """The figures of one solution by their names in `FlowAtRate`.

    Pressures are in units of the throat's dynamic pressure q, the slope of the pressure drop
    against the flow rate Q in units of q/Q.  With Δp = q p(Re), and U and Re both proportional to
    Q, that is 2p + Re dp/dRe.  Figures of the two halves are there where the throat's end is a
    section of the mesh.  The sections' measures are taken where they are not given.
    """
    measures = measures or bore_sections(task, state, sections)
    rim, end = measures[RIM_PLANE], measures[SHANK_END]
    drop = 2 * (rim.pressure - end.pressure)
    slope = 2 * pressure_drop_slope(task, state, sections[RIM_PLANE])
    figures = {
        "pressure_drop": drop,
        "loss_coefficient": 2 * (rim.head - end.head),
        "differential_resistance": 2 * drop + state.reynolds * slope,
    }
    if THROAT_END in measures:
        to_throat = 2 * (rim.pressure - measures[THROAT_END].pressure)
        figures["pressure_drop_to_throat_end"] = to_throat
        figures["backbore_pressure_drop"] = drop - to_throat
        ideal = (1 - rim.area**-2) / max(to_throat, 1e-30)
        figures["discharge_coefficient"] = float(np.sqrt(ideal))
    return figures
