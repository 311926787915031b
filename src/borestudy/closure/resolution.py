"""The wall's resolution: where y⁺ is too large, the mesh is made again with a lower first row."""

import logging
from collections.abc import Callable, Sequence

from skfem import MeshTri2

from borestudy.flow.lines import wall_line
from borestudy.mesh import UnmeshedError

from .levels import ClosureLevel
from .measures import GREATEST_Y_PLUS, away_from_edges, wall_units

logger = logging.getLogger(__name__)

#: The meshes again, coarsest first, with a first row this many times as high.
Remesh = Callable[[float], Sequence[MeshTri2]]
#: How often meshes are made again.
MOST_REFINEMENTS = 3
#: Share of the greatest y⁺ allowed that is accepted on the coarsest mesh, and of that the share
#: that is aimed at: a finer mesh and a lower row show more of the wall shear.
AIM = 0.8


def greatest_y_plus(level: ClosureLevel) -> float:
    """Greatest y⁺ of the first row's vertices over all solutions, sharp edges left out; 0 if none.

    The velocity, being quadratic, has its first unknown at half of that height.
    """
    line = wall_line(level.task.space.flow)
    regular = away_from_edges(line)
    found = [
        wall_units(level.task, state, line)[1][regular].max()
        for state in level.states
        if state.converged
    ]
    return float(max(found, default=0.0))


def resolve_wall(
    level: ClosureLevel,
    meshes: Sequence[MeshTri2],
    remesh: Remesh,
    solve: Callable[[MeshTri2, ClosureLevel], ClosureLevel],
    ratio: float,
) -> tuple[ClosureLevel, Sequence[MeshTri2], int]:
    """Lower the first row until the finest mesh is expected to resolve the wall.

    That is judged by the coarsest, which costs little: from mesh to mesh y⁺ falls with the row's
    height.  Meshes are made again at most `MOST_REFINEMENTS` times, or until gmsh finds none with
    so low a row; what the finest really has is for the rows to say.

    Parameters
    ----------
    level : ClosureLevel
        The coarsest, solved.
    meshes : sequence of skfem.MeshTri2
        All of them, coarsest first.
    remesh : callable
        Makes them again.
    solve : callable
        Solves the coarsest of those from the level solved before.
    ratio : float
        How many times lower the first row is from one mesh to the next.

    Returns
    -------
    ClosureLevel, sequence of skfem.MeshTri2, int
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
        logger.info("y+ reaches %.1f: first row lowered to %.2g of its height", greatest, height)
        try:
            meshes = remesh(height)
        except UnmeshedError as problem:
            logger.warning("the first row stays as it was: %s", problem)
            return level, meshes, refinements
        level = solve(meshes[0], level)
    return level, meshes, MOST_REFINEMENTS
