r"""A branch of solutions, followed in its parameter with adaptive steps.

The branch's own tangent :math:`du/d\lambda` is one more solve with the factors of the last Newton
step.  From one point the predictor is a step along it in :math:`s = \ln\lambda`,

.. math:: u(s) \approx u_0 + (s - s_0) \, \lambda_0 \; du/d\lambda,

and from two points the cubic through both with both their tangents (Hermite).  A step that the
iteration does not follow is halved; one it follows easily is lengthened.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from borestudy.fem import Floats

#: A cubic is continued over at most this many of its own spans.
FARTHEST_CUBIC = 1.2
#: What an easy step lengthens the next by, and a hard one shortens it by.
LONGER, SHORTER = 1.5, 0.7


@dataclass(frozen=True)
class Point:
    """A solution on the branch.

    Attributes
    ----------
    parameter : float
    unknowns, tangent : ndarray, shape (unknowns,)
        The solution, and its derivative by the parameter along the branch.
    steps, factorisations : int
        Steps of the iteration, and how many of them with factors of their own.
    """

    parameter: float
    unknowns: Floats
    tangent: Floats
    steps: int
    factorisations: int


P = TypeVar("P", bound=Point)


@dataclass(frozen=True)
class Path:
    """How a branch is followed: steps in ln λ, and factorisations of an easy step and a hard one.

    `shortest_step` is the least that a step is halved to before the branch counts as lost.
    """

    first_step: float = 1.0
    longest_step: float = 2.0
    shortest_step: float = 0.02
    easy: int = 2
    hard: int = 4


@dataclass
class Branch(Generic[P]):
    """A branch with the points it was asked for, and the two it was last followed through.

    Attributes
    ----------
    solve : callable
        Function of a start (None for the equations' own), a parameter and whether the point was
        asked for, which returns the point there or None.
    beginnings : callable
        Function of a parameter, which returns those, itself or below, where the equations' own
        start is worth trying.
    path : Path
        Lengths of the steps along the branch.
    near : callable
        Function of two parameters: whether the solution at the first is a better start at the
        second than the equations' own.
    points : list of Point or None
        Points at the parameters asked for; None where the branch could not be followed to.
    steps, failed_steps : int
        Number of all steps of the iteration, and of steps along the branch that were shortened.
    """

    solve: Callable[[Floats | None, float, bool], P | None]
    beginnings: Callable[[float], Sequence[float]]
    path: Path
    near: Callable[[float, float], bool] = lambda first, second: True
    points: list[P | None] = field(default_factory=list)
    here: P | None = None
    before: P | None = None
    steps: int = 0
    failed_steps: int = 0

    def follow(self, parameters: Sequence[float], starts: Sequence[Floats | None]) -> None:
        """Find the points at rising parameters, each from its own start, as from a coarser mesh.

        What the mesh before got wrong changes little from one parameter to the next, so each start
        is corrected by what the point before differs from its own.  Where a start is missing or not
        good enough, the branch is followed from the point before.  Where that fails and equations
        begin below the parameter only, all further points are None as well.
        """
        self.points = [None] * len(parameters)
        correction: Floats | float = 0.0
        for index, (wanted, start) in enumerate(zip(parameters, starts, strict=True)):
            point = None if start is None else self._enter(start + correction, wanted)
            self.points[index] = point = point or self.reach(wanted)
            if point is None and wanted not in self.beginnings(wanted):
                break
            if point is not None and start is not None:
                correction = point.unknowns - start

    def reach(self, wanted: float) -> P | None:
        """The point at a parameter along the branch, or from the nearest beginning that serves."""
        far = self.here is not None and not self.near(self.here.parameter, wanted)
        found = (self._enter(None, wanted) if far else None) or self._advance(wanted)
        for first in [] if found else self.beginnings(wanted):
            if self.here is not None and first <= self.here.parameter:
                break
            if self._enter(None, first, first == wanted):
                found = self._advance(wanted)
                break
        return found

    def _enter(self, start: Floats | None, parameter: float, asked: bool = True) -> P | None:
        point = self.solve(start, parameter, asked)
        if point is None:
            self.failed_steps += 1
            return None
        self.before, self.here = self.here, point
        self.steps += point.steps
        return point

    def _advance(self, wanted: float) -> P | None:
        """Follow the branch from the last point on, None where there is none or it is lost."""
        step, path = self.path.first_step, self.path
        while self.here is not None and self.here.parameter < wanted:
            here = self.here
            remaining = np.log(wanted / here.parameter)
            # even steps rather than long ones and a stub
            count = int(np.ceil(remaining / step - 1e-9))
            target = wanted if count <= 1 else here.parameter * float(np.exp(remaining / count))
            before = self.before
            if before is not None and not self.near(before.parameter, here.parameter):
                before = None  # no cubic through a point that the branch has left
            start = predict(before, here, target)
            there = self._enter(start, target, target == wanted)
            if there is None:
                step = np.log(target / here.parameter) / 2
                if step < path.shortest_step:
                    return None
            elif there.factorisations <= path.easy:
                step = min(LONGER * step, path.longest_step)
            elif there.factorisations >= path.hard:
                step = max(SHORTER * step, path.shortest_step)
        return self.here


def predict(before: Point | None, here: Point, parameter: float) -> Floats:
    """Unknowns expected at another parameter from one or two points of the branch."""
    reach = np.log(parameter / here.parameter)
    slope = here.parameter * here.tangent
    span = 0.0 if before is None else np.log(here.parameter / before.parameter)
    if before is None or reach > FARTHEST_CUBIC * span:
        return np.asarray(here.unknowns + reach * slope)
    share = 1 + reach / span
    slope_before = before.parameter * before.tangent
    return np.asarray(
        (1 + 2 * share) * (1 - share) ** 2 * before.unknowns
        + share**2 * (3 - 2 * share) * here.unknowns
        + span * share * (1 - share) ** 2 * slope_before
        + span * share**2 * (share - 1) * slope
    )
