"""The wall's resolution: where y⁺ is too large, meshes are made again with lower first cells."""

import logging
from collections.abc import Callable

from skfem import MeshTri2

from borestudy.mesh import UnmeshedError

from .ladder import Meshes
from .observables.lines import GREATEST_Y_PLUS, greatest_y_plus
from .solver import Level

logger = logging.getLogger(__name__)

#: The meshes again, coarsest first, with first cells this many times as high.
Remesh = Callable[[float], Meshes]
#: How often meshes are made again.
MOST_REFINEMENTS = 3
#: Share of the greatest y⁺ allowed that is accepted on the coarsest mesh, and of that the share
#: that is aimed at: a finer mesh and lower cells show more of the wall shear.
AIM = 0.8


def resolve_wall(
    level: Level,
    meshes: Meshes,
    remesh: Remesh,
    solve: Callable[[MeshTri2, Level], Level],
    ratio: float,
    count: int,
) -> tuple[Level, Meshes, int]:
    """Lower the first cells until the finest mesh is expected to resolve the wall.

    That is judged by the coarsest, which costs little: from mesh to mesh y⁺ falls with the cells'
    height.  Meshes are made again at most `MOST_REFINEMENTS` times, or until gmsh finds none with
    cells so low; what the finest really has is for the records to say.

    Parameters
    ----------
    level, meshes : Level, sequence of skfem.MeshTri2 or Ladder
        The coarsest, solved, and all meshes, coarsest first.
    remesh, solve : callable
        Makes the meshes again; solves the coarsest of those from the level solved before.
    ratio : float
        How many times lower the first cells are from one mesh to the next.
    count : int
        Number of the meshes that every rate is solved on.

    Returns
    -------
    Level, sequence of skfem.MeshTri2 or Ladder, int
        The coarsest, all meshes, and how often they were made again.
    """
    wanted = AIM * GREATEST_Y_PLUS * ratio ** (count - 1)
    height = 1.0
    for refinements in range(MOST_REFINEMENTS):
        space, equations = level.problem.space, level.problem.equations
        states = [state for state in level.states if state is not None]
        greatest = max(
            (
                greatest_y_plus(space, state, level.wall, equations.turbulent_from(state.reynolds))
                for state in states
            ),
            default=0.0,
        )
        if greatest <= wanted:
            return level, meshes, refinements
        # Rounded, so that the last digits of a solution make no other mesh.
        height = float(f"{height * AIM * wanted / greatest:.3g}")
        logger.info("y+ reaches %.1f: first cells at %.2g of their height", greatest, height)
        try:
            meshes = remesh(height)
        except UnmeshedError as problem:
            logger.warning("the first cells stay as they were: %s", problem)
            return level, meshes, refinements
        level = solve(meshes[0], level)
    return level, meshes, MOST_REFINEMENTS
