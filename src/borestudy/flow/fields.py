"""Flow fields for ParaView: each second-order triangle as four linear ones."""

from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray

from borestudy.files import replacing

from .discretisation import Discretisation
from .problem import State

#: Corners, then middles of the edges 01, 12, 02, as the quadratic basis numbers an element.
SUBTRIANGLES = np.array([[0, 3, 5], [1, 4, 3], [2, 5, 4], [3, 4, 5]])


def field_name(rate: float) -> str:
    """Name of the file with the field of a flow rate [m³/s]; no two rates of a study share one."""
    return f"{1e3 * rate:.12g}_L_per_s.vtu"


def pressure_at_nodes(space: Discretisation, state: State) -> NDArray[np.float64]:
    """Linear pressure at the velocity's nodes, scaled, shape (n,)."""
    corners = space.pressure(state.unknowns)[space.pressure_basis.element_dofs]
    middles = 0.5 * np.stack(
        [corners[0] + corners[1], corners[1] + corners[2], corners[0] + corners[2]]
    )
    values = np.zeros(space.nodes)
    values[space.velocity_basis.element_dofs] = np.concatenate([corners, middles])
    return values


def write_flow_field(
    path: Path, space: Discretisation, state: State, velocity: float, pressure: float
) -> None:
    """Write one state as a `.vtu` file in metres, m/s and Pa.

    Parameters
    ----------
    path : Path
        The file.
    space, state : Discretisation, State
        Where the unknowns live, and the solution.
    velocity : float
        Mean velocity of the throat [m/s].
    pressure : float
        Its density times velocity squared [Pa].
    """
    nodal = velocity * space.velocity(state.unknowns)
    points = np.zeros((space.nodes, 3))
    points[:, :2] = space.scale * space.velocity_basis.doflocs.T
    vectors = np.zeros_like(points)
    vectors[:, :2] = nodal.T
    triangles = space.velocity_basis.element_dofs.T[:, SUBTRIANGLES].reshape(-1, 3)
    field = meshio.Mesh(
        points,
        [("triangle", triangles)],
        point_data={
            "velocity_m_per_s": vectors,
            "speed_m_per_s": np.hypot(*nodal),
            "pressure_Pa": pressure * pressure_at_nodes(space, state),
        },
    )
    with replacing(path) as unfinished:
        field.write(unfinished)
