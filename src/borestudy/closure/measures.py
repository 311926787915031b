"""What is read from a solution: pressures and heads of sections, y⁺, wall shear."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from borestudy.flow.boundary import SCALED_FLUX
from borestudy.flow.edges import EdgeTables
from borestudy.flow.lines import WallLine, wall_shear
from borestudy.flow.measures import SectionMeasures
from borestudy.flow.newton import FlowState
from borestudy.flow.outlet import outlet_pressure

from .problem import ClosureProblem
from .steady import ClosureState

#: Largest wall distance y⁺ of the first row's vertices for which wall shear is taken as resolved:
#: up to here the friction of a pipe changes by less than 0.1 % (computed, this project).
GREATEST_Y_PLUS = 4.0
#: A turn of the wall between two mesh edges that is a sharp edge [rad], and how far along the wall
#: it is felt [throat diameters].
SHARP_TURN, EDGE_REACH = 0.2, 0.1


def flow_state(task: ClosureProblem, state: ClosureState) -> FlowState:
    """Velocity and pressure alone, for what reads a laminar solution."""
    return FlowState(
        reynolds=state.reynolds,
        unknowns=state.unknowns[: task.space.flow.unknowns],
        tangent=state.tangent[: task.space.flow.unknowns],
        residual=state.residuals[0],
        steps=state.iterations,
        factorisations=state.factorisations,
    )


def closure_sections(
    task: ClosureProblem, state: ClosureState, sections: dict[str, EdgeTables]
) -> dict[str, SectionMeasures]:
    """Measures of every section, the two ends' pressures from the weak form.

    The work done at the rim plane and the outlet's own pressure converge faster than a mean of
    the linear pressure there (see :mod:`borestudy.flow.measures`).
    """
    flow = task.space.flow
    velocity = flow.velocity(state.unknowns)
    pressure = flow.pressure(state.unknowns)
    measures = {
        name: _section(tables, velocity, tables.pressure(pressure))
        for name, tables in sections.items()
    }
    here = flow.velocity_basis.get_dofs("rim_plane").flatten()
    residual = task.residual(state.unknowns, state.reynolds)
    force = residual[: 2 * flow.nodes].reshape(2, -1)[:, here]
    offset = (
        float(np.sum(force * velocity[:, here]) / SCALED_FLUX)
        - measures["rim_plane"].mixed_pressure
    )
    rim = measures["rim_plane"]
    measures["rim_plane"] = replace(
        rim,
        pressure=rim.pressure + offset,
        mixed_pressure=rim.mixed_pressure + offset,
        head=rim.head + offset,
    )
    measures["shank_end"] = _section(task.outlet, velocity, outlet_pressure(task.outlet, velocity))
    return measures


def pressure_drop_slope(task: ClosureProblem, state: ClosureState, rim: EdgeTables) -> float:
    """Derivative of the scaled pressure drop by the Reynolds number on the turbulent branch.

    Both ends' pressures are those of :func:`closure_sections`, along the branch's tangent.
    """
    flow = task.space.flow
    velocity, change = flow.velocity(state.unknowns), flow.velocity(state.tangent)
    here = flow.velocity_basis.get_dofs("rim_plane").flatten()
    slope = task.space.residual_slope(state.unknowns, state.reynolds, state.tangent)
    force = slope[: 2 * flow.nodes].reshape(2, -1)[:, here]
    work = float(np.sum(force * velocity[:, here]) / SCALED_FLUX)
    pressure, speed = rim.pressure(flow.pressure(state.tangent)), rim.velocity(velocity[:1])[0]
    mean = np.sum(pressure * rim.weights) / np.sum(rim.weights)
    mixed = np.sum(pressure * speed * rim.weights) / np.sum(speed * rim.weights)
    # outlet_pressure moves where air comes back in
    inward = np.minimum(task.outlet.velocity(velocity[:1])[0], 0)
    weighted = inward * task.outlet.velocity(change[:1])[0] * task.outlet.weights
    return float(work + mean - mixed + np.sum(weighted) / np.sum(task.outlet.weights))


def _section(
    tables: EdgeTables, velocity: NDArray[np.float64], pressure: NDArray[np.float64]
) -> SectionMeasures:
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


def wall_units(
    task: ClosureProblem, state: ClosureState, line: WallLine
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shear stress on each wall edge, scaled, and y⁺ of the first row's vertices.

    y⁺ is height times √(wall shear) times Reynolds number, in scaled units.
    """
    flow = task.space.flow
    shear = wall_shear(flow, flow_state(task, state), line)
    edge = np.diff(line.arc)
    height = 2 * task.element_size[line.tables.element] ** 2 / edge
    return shear, state.reynolds * np.sqrt(np.abs(shear)) * height


def away_from_edges(line: WallLine) -> NDArray[np.bool_]:
    """Which wall edges lie off sharp edges and the inlet's, where wall shear has no finite value.

    There y⁺ grows without bound as the mesh gets finer, and says nothing of it.
    """
    along = np.diff(line.position, axis=1)
    angle = np.arctan2(along[1], along[0])
    turn = np.abs(np.angle(np.exp(1j * np.diff(angle))))
    singular = line.arc[np.concatenate([[0], np.flatnonzero(turn > SHARP_TURN) + 1])]
    middle = 0.5 * (line.arc[1:] + line.arc[:-1])
    return np.abs(middle[:, None] - singular).min(axis=1) > EDGE_REACH
