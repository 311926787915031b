"""Along the axis and along the wall: pressure, wall shear, where the flow leaves the wall."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables
from .interpolation import velocity_at
from .problem import State

#: A run of backward wall shear shorter than this many edges is not called a separation.
SHORTEST_BUBBLE = 2


@dataclass(frozen=True)
class WallLine:
    """The wall from rim plane to shank end, edge by edge, scaled.

    Attributes
    ----------
    vertices : ndarray, shape (m + 1,)
        Mesh vertices in order.
    position : ndarray, shape (2, m + 1)
        Where they are.
    arc : ndarray, shape (m + 1,)
        Length along the wall.
    tables : EdgeTables
        Basis functions on the edges, in the same order.
    """

    vertices: NDArray[np.int64]
    position: NDArray[np.float64]
    arc: NDArray[np.float64]
    tables: EdgeTables


def wall_line(space: Discretisation) -> WallLine:
    """Chain the wall's edges from the rim plane on."""
    mesh = space.mesh
    edges = np.asarray(mesh.boundaries["wall"])
    ends = mesh.facets[:, edges]
    neighbours: dict[int, list[tuple[int, int]]] = {}
    for edge, (first, second) in enumerate(ends.T):
        neighbours.setdefault(int(first), []).append((int(second), edge))
        neighbours.setdefault(int(second), []).append((int(first), edge))
    tips = [vertex for vertex, links in neighbours.items() if len(links) == 1]
    here = min(tips, key=lambda vertex: mesh.doflocs[0, vertex])
    vertices, order = [here], []
    used = np.zeros(len(edges), dtype=bool)
    while True:
        onward = [(vertex, edge) for vertex, edge in neighbours[here] if not used[edge]]
        if not onward:
            break
        here, edge = onward[0]
        used[edge] = True
        vertices.append(here)
        order.append(edge)
    position = mesh.doflocs[:, vertices]
    arc = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(position, axis=1)))])
    tables = edge_tables(space, edges[order], points=2)
    return WallLine(np.array(vertices), position, arc, tables)


def wall_shear(space: Discretisation, state: State, line: WallLine) -> NDArray[np.float64]:
    """Scaled shear stress at each wall edge's middle, positive where the flow runs downstream.

    On a wall without slip the velocity's gradient is its normal derivative, so the stress along
    the wall is the tangential part of that.
    """
    normal = line.tables.normal
    tangent = np.stack([normal[1], -normal[0]])
    gradient = line.tables.gradient(space.velocity(state.unknowns))
    stress = -np.einsum("cfq,cdfq,dfq->fq", tangent, gradient, normal) / state.reynolds
    weights = line.tables.length
    return np.asarray(np.sum(stress * weights, axis=1) / np.sum(weights, axis=1))


@dataclass(frozen=True)
class Bubble:
    """Backward flow along the wall, axial positions scaled; `reattachment` None if it stays."""

    separation: float
    reattachment: float | None


def bubbles(line: WallLine, shear: NDArray[np.float64]) -> list[Bubble]:
    """Runs of backward wall shear, with their ends interpolated between edge middles."""
    middle = 0.5 * (line.position[0, 1:] + line.position[0, :-1])
    backward = shear < 0
    changes = np.flatnonzero(np.diff(backward.astype(int)))
    starts = [0] if backward[0] else []
    stops: list[int] = []
    for change in changes:
        (starts if backward[change + 1] else stops).append(int(change) + 1)
    if backward[-1]:
        stops.append(len(shear))

    def crossing(edge: int) -> float:
        if edge == 0:
            return float(middle[0])
        before, after = shear[edge - 1], shear[edge]
        return float(
            middle[edge - 1] + (middle[edge] - middle[edge - 1]) * before / (before - after)
        )

    return [
        Bubble(crossing(start), crossing(stop) if stop < len(shear) else None)
        for start, stop in zip(starts, stops, strict=True)
        if stop - start >= SHORTEST_BUBBLE
    ]


def axis_pressure(
    space: Discretisation, state: State
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Scaled axial position and pressure at the axis' vertices, in order."""
    dofs = space.pressure_basis.get_dofs("axis").flatten()
    position = space.pressure_basis.doflocs[0, dofs]
    order = np.argsort(position)
    return position[order], space.pressure(state.unknowns)[dofs[order]]


def axis_velocity(
    space: Discretisation, state: State
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Scaled axial position and axial velocity at the axis' vertices, in order."""
    vertices = np.unique(space.mesh.facets[:, space.mesh.boundaries["axis"]])
    dofs = space.velocity_basis.nodal_dofs[0, vertices]
    position = space.velocity_basis.doflocs[0, dofs]
    order = np.argsort(position)
    return position[order], space.velocity(state.unknowns)[0, dofs[order]]


def wall_pressure(space: Discretisation, state: State, line: WallLine) -> NDArray[np.float64]:
    """Scaled pressure at the wall's vertices, in order."""
    dofs = space.pressure_basis.nodal_dofs[0, line.vertices]
    return space.pressure(state.unknowns)[dofs]


def jet_contraction(
    space: Discretisation,
    state: State,
    throat: tuple[float, float],
    sections: int = 60,
    points: int = 200,
) -> tuple[float, float]:
    """Least share of the throat's area that the through-flow fills, and where.

    The through-flow is bounded by the streamline that carries the whole flow rate, outside of
    which a separation bubble turns; without one the share is 1.

    Parameters
    ----------
    space, state : Discretisation, State
        Where the unknowns live, and the solution.
    throat : (float, float)
        Scaled axial positions of the straight throat.
    sections, points : int
        Sections along the throat and points across each.

    Returns
    -------
    ratio, position : float
        Area ratio, and its scaled axial position.
    """
    edge = np.linspace(0, 0.5, points + 1)
    middle = 0.5 * (edge[1:] + edge[:-1])
    stations = np.linspace(*throat, sections + 2)[1:-1]
    grid = np.stack([np.repeat(stations, points), np.tile(middle, sections)])
    axial = velocity_at(space, state.unknowns, grid)[0].reshape(sections, points)
    ring = np.diff(edge**2) / 2
    carried = np.concatenate([np.zeros((sections, 1)), np.cumsum(axial * ring, axis=1)], axis=1)
    # the bubble carries nothing in all: outside the dividing streamline the sum passes the whole
    carried /= carried[:, -1:]
    ratios = np.ones(sections)
    for index, share in enumerate(carried):
        beyond = np.flatnonzero(share > 1 + 1e-9)
        if len(beyond):
            first = int(beyond[0])
            before, after = share[first - 1], share[first]
            radius = edge[first - 1] + (edge[first] - edge[first - 1]) * (1 - before) / (
                after - before
            )
            ratios[index] = (radius / 0.5) ** 2
    best = int(np.argmin(ratios))
    return float(ratios[best]), float(stations[best])


def places(
    space: Discretisation,
    state: State,
    length: float,
    line: WallLine,
    shear: NDArray[np.float64],
    throat: tuple[float, float] | None,
) -> dict[str, Any]:
    """Where the flow leaves the wall and comes back, and how narrow the jet in the throat is.

    Parameters
    ----------
    space, state, line
        The solution and its wall.
    length : float
        What scaled lengths are multiplied with [m].
    shear : ndarray
        Wall shear of the line's edges.
    throat : (float, float) or None
        Its start and end [m]; without it no jet is looked for.
    """
    millimetres = 1e3 * length
    found: dict[str, Any] = {
        "separations": [
            {
                "separation_mm": millimetres * bubble.separation,
                "reattachment_mm": None
                if bubble.reattachment is None
                else millimetres * bubble.reattachment,
            }
            for bubble in bubbles(line, shear)
        ]
    }
    if throat is not None:
        ratio, position = jet_contraction(space, state, (throat[0] / length, throat[1] / length))
        found["jet_contraction"] = ratio
        found["jet_contraction_position_mm"] = millimetres * position
    return found
