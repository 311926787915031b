"""The wall's resolution: where y⁺ is too large, meshes are made again with lower first cells."""

import logging
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from borestudy.mesh import UnmeshedError

from .lines import WallLine, wall_line, wall_shear
from .problem import Problem, State
from .solver import Level

logger = logging.getLogger(__name__)

#: The meshes again, coarsest first, with first cells this many times as high.
Remesh = Callable[[float], Sequence[MeshTri2]]
#: Largest wall distance y⁺ of the first cells' vertices for which wall shear is taken as resolved:
#: up to here the friction of a pipe changes by less than 0.1 % (computed, this project).
GREATEST_Y_PLUS = 4.0
#: Angle of the wall between two mesh edges that is a sharp edge [rad], and how far along the wall
#: it is felt [throat diameters].
SHARP_ANGLE, EDGE_REACH = 0.2, 0.1
#: How often meshes are made again.
MOST_REFINEMENTS = 3
#: Share of the greatest y⁺ allowed that is accepted on the coarsest mesh, and of that the share
#: that is aimed at: a finer mesh and lower cells show more of the wall shear.
AIM = 0.8


def greatest_y_plus(level: Level) -> float:
    """Greatest y⁺ of the first cells' vertices over all solutions, sharp edges left out; 0 if none.

    The velocity, being quadratic, has its first unknown at half of that height.
    """
    line = wall_line(level.problem.space)
    regular = away_from_edges(line)
    found = [
        wall_units(level.problem, state, line)[1][regular].max()
        for state in level.states
        if state is not None
    ]
    return float(max(found, default=0.0))


def resolve_wall(
    level: Level,
    meshes: Sequence[MeshTri2],
    remesh: Remesh,
    solve: Callable[[MeshTri2, Level], Level],
    ratio: float,
) -> tuple[Level, Sequence[MeshTri2], int]:
    """Lower the first cells until the finest mesh is expected to resolve the wall.

    That is judged by the coarsest, which costs little: from mesh to mesh y⁺ falls with the cells'
    height.  Meshes are made again at most `MOST_REFINEMENTS` times, or until gmsh finds none with
    cells so low; what the finest really has is for the rows to say.

    Parameters
    ----------
    level : Level
        The coarsest, solved.
    meshes : sequence of skfem.MeshTri2
        All of them, coarsest first.
    remesh : callable
        Makes them again.
    solve : callable
        Solves the coarsest of those from the level solved before.
    ratio : float
        How many times lower the first cells are from one mesh to the next.

    Returns
    -------
    Level, sequence of skfem.MeshTri2, int
        The coarsest, all meshes, and how often they were made again.
    """
    wanted = AIM * GREATEST_Y_PLUS * ratio ** (len(meshes) - 1)
    height = 1.0
    for refinements in range(MOST_REFINEMENTS):
        greatest = greatest_y_plus(level)
        if greatest <= wanted:
            return level, meshes, refinements
        # Rounded, so that the last digits of a solution make no other mesh.
        height = float(f"{height * AIM * wanted / greatest:.3g}")
        logger.info("y+ reaches %.1f: first cells lowered to %.2g of it", greatest, height)
        try:
            meshes = remesh(height)
        except UnmeshedError as problem:
            logger.warning("the first cells stay as they were: %s", problem)
            return level, meshes, refinements
        level = solve(meshes[0], level)
    return level, meshes, MOST_REFINEMENTS


def wall_units(
    problem: Problem, state: State, line: WallLine
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shear stress on each wall edge, scaled, and y⁺ of the first cells' vertices.

    y⁺ is height times √(wall shear) times Reynolds number, in scaled units.
    """
    shear = wall_shear(problem.space, state, line)
    edge = np.diff(line.arc)
    height = 2 * problem.element_size[line.tables.element] ** 2 / edge
    return shear, state.reynolds * np.sqrt(np.abs(shear)) * height


def away_from_edges(line: WallLine) -> NDArray[np.bool_]:
    """Which wall edges lie off sharp edges and the inlet's, where wall shear has no finite value.

    There y⁺ grows without bound as the mesh gets finer, and says nothing of it.
    """
    along = np.diff(line.position, axis=1)
    angle = np.arctan2(along[1], along[0])
    bend = np.abs(np.angle(np.exp(1j * np.diff(angle))))
    singular = line.arc[np.concatenate([[0], np.flatnonzero(bend > SHARP_ANGLE) + 1])]
    middle = 0.5 * (line.arc[1:] + line.arc[:-1])
    return np.asarray(np.abs(middle[:, None] - singular).min(axis=1) > EDGE_REACH)
