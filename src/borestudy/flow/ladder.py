"""A bore's meshes, coarsest first, of which the finer ones are made when they are asked for."""

from collections.abc import Callable, Iterable, Sequence

from skfem import MeshTri2


class Ladder:
    """Meshes by their level, 0 the coarsest: ``ladder[level]``.

    Parameters
    ----------
    made : iterable of skfem.MeshTri2
        The first ones.
    count : int, optional
        Number of meshes with those that can be made, by default that of the first ones.
    make : callable, optional
        Makes the mesh of a level; it is asked once for each, in rising order.

    Raises
    ------
    UnmeshedError
        By the level whose mesh cannot be made.
    """

    def __init__(
        self,
        made: Iterable[MeshTri2],
        count: int | None = None,
        make: Callable[[int], MeshTri2] | None = None,
    ) -> None:
        self._made = list(made)
        self._make = make
        self._count = len(self._made) if count is None else count

    def __len__(self) -> int:
        """Number of meshes, made or not."""
        return self._count

    def __getitem__(self, level: int) -> MeshTri2:
        """The mesh of a level, and before it those of all coarser ones."""
        if not 0 <= level < self._count:
            raise IndexError(f"level: found {level}; allowed is 0 to {self._count - 1}")
        while len(self._made) <= level:
            assert self._make is not None
            self._made.append(self._make(len(self._made)))
        return self._made[level]


#: Meshes, coarsest first, all made or made when they are asked for.
Meshes = Ladder | Sequence[MeshTri2]
