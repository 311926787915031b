"""Along the axis and the wall: pressure, velocity, wall shear stress and its resolution."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import breadth_first_order

from borestudy.fem import Floats, Ints
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.edges import EdgeTables, edge_tables
from borestudy.flow.problem import State
from borestudy.flow.result import AxisLine, WallLine

#: Most points that a line along the bore is written with.
LINE_POINTS = 400
#: Largest y⁺ of the first cells' height for which wall shear is taken as resolved: up to here the
#: friction of a pipe changes by less than 0.1 % (computed, this project).
GREATEST_Y_PLUS = 4.0
RESOLVED, TOO_COARSE = "resolved", "y+ too large"
#: Angle between two wall edges that makes a sharp edge [rad], and how far along the wall it is felt
#: [throat diameters].
SHARP_ANGLE, EDGE_REACH = 0.2, 0.1


@dataclass(frozen=True)
class Wall:
    """The wall from rim plane to shank end, edge by edge, scaled.

    Attributes
    ----------
    vertices : ndarray, shape (m + 1,)
        Mesh vertices in order.
    position : ndarray, shape (2, m + 1)
        Scaled positions of the vertices.
    arc : ndarray, shape (m + 1,)
        Length along the wall.
    tables : EdgeTables
        Basis functions on the edges, in the same order.
    """

    vertices: Ints
    position: Floats
    arc: Floats
    tables: EdgeTables

    @property
    def middle(self) -> Floats:
        """Axial position of each edge's middle, shape (m,)."""
        return 0.5 * (self.position[0, 1:] + self.position[0, :-1])


def wall_line(space: Discretisation) -> Wall:
    """Chain the wall's edges from the rim plane on."""
    mesh = space.mesh
    edges = np.asarray(mesh.boundaries["wall"])
    size = mesh.doflocs.shape[1]
    joined = csr_matrix((np.arange(len(edges)) + 1, mesh.facets[:, edges]), shape=(size, size))
    joined = joined + joined.T
    tips = np.flatnonzero(joined.getnnz(axis=1) == 1)
    first = tips[np.argmin(mesh.doflocs[0, tips])]
    vertices = breadth_first_order(joined, first, return_predecessors=False)
    order = np.asarray(joined[vertices[:-1], vertices[1:]]).ravel() - 1
    position = mesh.doflocs[:, vertices]
    arc = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(position, axis=1)))])
    tables = edge_tables(space, edges[order], points=2)
    return Wall(vertices.astype(np.int64), position, arc, tables)


def wall_shear(space: Discretisation, state: State, wall: Wall) -> Floats:
    """Scaled shear stress at each wall edge's middle, positive where the flow runs downstream.

    On a wall without slip the velocity's gradient is its normal derivative, so the stress along
    the wall is the tangential part of that; eddy viscosity is zero there.
    """
    normal = wall.tables.normal
    tangent = np.stack([normal[1], -normal[0]])
    gradient = wall.tables.gradient(space.velocity(state.unknowns))
    stress = -np.einsum("cfq,cdfq,dfq->fq", tangent, gradient, normal) / state.reynolds
    weights = wall.tables.length
    return np.asarray(np.sum(stress * weights, axis=1) / np.sum(weights, axis=1))


def wall_pressure(space: Discretisation, state: State, wall: Wall) -> Floats:
    """Scaled pressure at the wall's vertices, in order."""
    dofs = space.pressure_basis.nodal_dofs[0, wall.vertices]
    return space.pressure(state.unknowns)[dofs]


def y_plus(space: Discretisation, state: State, wall: Wall) -> Floats:
    """First-cell height over ν/√(wall shear / ρ), for each wall edge, shape (m,).

    The velocity, being quadratic, has its first unknown at half of that height.
    """
    corners = space.mesh.doflocs[:, space.mesh.t[:3, wall.tables.element]]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    height = np.abs(first[0] * second[1] - first[1] * second[0]) / np.diff(wall.arc)
    return state.reynolds * np.sqrt(np.abs(wall_shear(space, state, wall))) * height


def greatest_y_plus(
    space: Discretisation, state: State, wall: Wall, start: float = -np.inf
) -> float:
    """Greatest y⁺ off sharp edges and the inlet's, from an axial position on.

    There wall shear has no finite value: y⁺ falls with no finer mesh, and says nothing of it.
    """
    along = np.diff(wall.position, axis=1)
    angle = np.arctan2(along[1], along[0])
    bend = np.abs(np.angle(np.exp(1j * np.diff(angle))))
    singular = wall.arc[np.concatenate([[0], np.flatnonzero(bend > SHARP_ANGLE) + 1])]
    middle = 0.5 * (wall.arc[1:] + wall.arc[:-1])
    regular = np.abs(middle[:, None] - singular).min(axis=1) > EDGE_REACH
    regular &= wall.position[0, 1:] >= start
    return float(y_plus(space, state, wall)[regular].max(initial=0.0))


def along_axis(space: Discretisation, state: State) -> tuple[Floats, Floats, Floats]:
    """Scaled axial position, pressure and axial velocity at the axis' vertices, in order."""
    vertices = np.unique(space.mesh.facets[:, space.mesh.boundaries["axis"]])
    vertices = vertices[np.argsort(space.mesh.doflocs[0, vertices])]
    pressure = space.pressure(state.unknowns)[space.pressure_basis.nodal_dofs[0, vertices]]
    nodes = space.velocity_basis.nodal_dofs[0, vertices]
    return (space.mesh.doflocs[0, vertices], pressure, space.velocity(state.unknowns)[0, nodes])


def axis_line(space: Discretisation, state: State, velocity: float, pressure: float) -> AxisLine:
    """The axis in millimetres and SI, scaled by the throat's velocity and its ρU²."""
    position, on_axis, speed = along_axis(space, state)
    return AxisLine(
        position_mm=_thinned(1e3 * space.scale * position),
        pressure_Pa=_thinned(pressure * on_axis),
        velocity_m_per_s=_thinned(velocity * speed),
    )


def wall_values(space: Discretisation, state: State, wall: Wall, pressure: float) -> WallLine:
    """The wall in millimetres and pascals, scaled by ρU²."""
    millimetres = 1e3 * space.scale
    return WallLine(
        position_mm=_thinned(millimetres * wall.position[0]),
        pressure_Pa=_thinned(pressure * wall_pressure(space, state, wall)),
        shear_position_mm=_thinned(millimetres * wall.middle),
        shear_Pa=_thinned(pressure * wall_shear(space, state, wall)),
    )


def _thinned(values: Floats) -> tuple[float, ...]:
    """At most LINE_POINTS of a line's values, evenly picked, ends kept, rounded to six digits."""
    count = min(len(values), LINE_POINTS)
    picked = values[np.linspace(0, len(values) - 1, count).round().astype(int)]
    return tuple(float(f"{value:.6g}") for value in picked)
