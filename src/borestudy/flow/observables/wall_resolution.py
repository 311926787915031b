"""How well a mesh resolves the wall of a turbulent flow: first-cell height in wall units, y⁺."""

import numpy as np
from numpy.typing import NDArray

from borestudy.flow.discretisation import Discretisation
from borestudy.flow.problem import State

from .lines import Wall, wall_shear

#: Largest y⁺ of the first cells' height for which wall shear is taken as resolved: up to here the
#: friction of a pipe changes by less than 0.1 % (computed, this project).
GREATEST_Y_PLUS = 4.0
RESOLVED, TOO_COARSE = "resolved", "y+ too large"
#: Angle between two wall edges that makes a sharp edge [rad], and how far along the wall it is felt
#: [throat diameters].
SHARP_ANGLE, EDGE_REACH = 0.2, 0.1


def y_plus(space: Discretisation, state: State, wall: Wall) -> NDArray[np.float64]:
    """First-cell height over ν/√(wall shear / ρ), for each wall edge, shape (m,).

    The velocity, being quadratic, has its first unknown at half of that height.
    """
    corners = space.mesh.doflocs[:, space.mesh.t[:3, wall.tables.element]]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    height = np.abs(first[0] * second[1] - first[1] * second[0]) / np.diff(wall.arc)
    return state.reynolds * np.sqrt(np.abs(wall_shear(space, state, wall))) * height


def greatest_y_plus(space: Discretisation, state: State, wall: Wall) -> float:
    """Greatest y⁺ off sharp edges and the inlet's.

    There wall shear has no finite value: y⁺ falls with no finer mesh, and says nothing of it.
    """
    along = np.diff(wall.position, axis=1)
    angle = np.arctan2(along[1], along[0])
    bend = np.abs(np.angle(np.exp(1j * np.diff(angle))))
    singular = wall.arc[np.concatenate([[0], np.flatnonzero(bend > SHARP_ANGLE) + 1])]
    middle = 0.5 * (wall.arc[1:] + wall.arc[:-1])
    regular = np.abs(middle[:, None] - singular).min(axis=1) > EDGE_REACH
    return float(y_plus(space, state, wall)[regular].max(initial=0.0))
