"""A wish as it is granted: what is wished, what may move, and how bores are made and solved."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from borestudy.bore import Bore, Dimension
from borestudy.optimisation.aims import Limits
from borestudy.optimisation.least_squares import Real
from borestudy.optimisation.way import MOST_SOLVES
from borestudy.results.case import CaseResults
from borestudy.results.wishes import FreeRange, WishedFor

#: What counts as one of a dimension, by its unit, so that those of other units weigh alike.
SCALE = {"mm": 1.0, "deg": 10.0, "": 0.1}

#: The bore with dimensions by their keys [mm, degrees or 1], and how its wall moves with each.
BoreAt = Callable[[Mapping[str, float]], tuple[Bore, Sequence[Dimension]]]
#: Results of the bore with such dimensions, at all flow rates or those in question; None without
#: a mesh.
SolveAt = Callable[[Mapping[str, float], bool], CaseResults | None]


@dataclass(frozen=True, kw_only=True)
class Granting:
    """A wish, and how bores are made and solved.

    Attributes
    ----------
    wished : sequence of WishedFor
    free : sequence of FreeRange
        Dimensions that may move.
    sizes : mapping of str to sequence of (str, float)
        Words and values of tool sizes, rising, of those free dimensions that stand on some.
    bore_at, solve_at
        How a bore is made, and solved.
    existing : bool
        Whether the bore exists already.
    most : int
        Number of solves.
    """

    wished: Sequence[WishedFor]
    free: Sequence[FreeRange]
    bore_at: BoreAt
    solve_at: SolveAt
    sizes: Mapping[str, Sequence[tuple[str, float]]] = field(default_factory=dict)
    existing: bool = False
    most: int = MOST_SOLVES

    @property
    def keys(self) -> list[str]:
        """Keys of the dimensions that may move."""
        return [one.key for one in self.free]

    @property
    def scale(self) -> Real:
        """What counts as one of each dimension."""
        return np.array([SCALE[one.unit] for one in self.free])

    def named(self, x: Real) -> dict[str, float]:
        """Dimensions by their keys, from what the search knows."""
        return dict(zip(self.keys, (x * self.scale).tolist(), strict=True))

    def limits(self) -> Limits:
        """Limits and sizes as the search knows them."""
        low, high = (np.array([getattr(one, end) for one in self.free]) for end in ("low", "high"))
        sizes = {
            place: [value / self.scale[place] for _, value in self.sizes[key]]
            for place, key in enumerate(self.keys)
            if self.sizes.get(key)
        }
        return Limits(low / self.scale, high / self.scale, sizes)
