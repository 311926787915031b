r"""The branch of laminar solutions, followed in flow rate with adaptive steps.

The Reynolds number is the only parameter: the boundary values are scaled and stay.  The branch's
own tangent :math:`du/dRe` is one more solve with the factors of the last Newton step.  From one
state the predictor is a step along it in :math:`s = \ln Re`,

.. math:: u(s) \approx u_0 + (s - s_0) \, Re_0 \; du/dRe,

and from two states the cubic through both with both their tangents (Hermite).  A step that
Newton's method does not follow is halved; one it follows easily is lengthened.
"""

import logging
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .newton import FlowState, NotConverged, Problem, creeping_flow, newton

logger = logging.getLogger(__name__)

#: Where the branch starts, from creeping flow.
FIRST_REYNOLDS = 40.0
FIRST_STEP = 1.0
LONGEST_STEP = 2.0
SHORTEST_STEP = 0.02
#: Factorisations of a step that was easy, and of one that was hard.
EASY, HARD = 2, 4
#: A cubic is continued over at most this many of its own spans.
FARTHEST_CUBIC = 1.2


@dataclass(frozen=True)
class Branch:
    """States at the wanted Reynolds numbers, None where the branch could not be followed to.

    Attributes
    ----------
    states : list of FlowState or None
    last : float
        Highest Reynolds number that was reached, 0 if none was.
    newton_steps, failed_steps : int
        Newton steps in all, and steps along the branch that had to be shortened.
    """

    states: list[FlowState | None]
    last: float
    newton_steps: int
    failed_steps: int


def follow_branch(task: Problem, reynolds: Sequence[float]) -> Branch:
    """Solve at each Reynolds number in rising order, starting from creeping flow."""
    return follow_from(task, [None] * len(reynolds), reynolds)


@dataclass
class _Walk:
    """Where the branch has been followed to, and what it took."""

    here: FlowState | None = None
    before: FlowState | None = None
    newton_steps: int = 0
    failed_steps: int = 0

    def reach(self, state: FlowState) -> None:
        self.before, self.here = self.here, state
        self.newton_steps += state.steps


def _advance(task: Problem, walk: _Walk, wanted: float, adjoint: bool) -> FlowState:
    """Follow the branch to the wanted Reynolds number."""
    if walk.here is None:
        first = min(FIRST_REYNOLDS, wanted)
        start = creeping_flow(task, first)
        walk.reach(newton(task, start, first, adjoint=adjoint and first == wanted))
    step = FIRST_STEP
    while walk.here is not None and walk.here.reynolds < wanted:
        here = walk.here
        remaining = np.log(wanted / here.reynolds)
        # even steps rather than long ones and a stub
        count = int(np.ceil(remaining / step - 1e-9))
        target = wanted if count <= 1 else here.reynolds * float(np.exp(remaining / count))
        try:
            start = predict(walk.before, here, target)
            there = newton(task, start, target, adjoint=adjoint and target == wanted)
        except NotConverged:
            walk.failed_steps += 1
            step = np.log(target / here.reynolds) / 2
            if step < SHORTEST_STEP:
                raise
            continue
        walk.reach(there)
        if there.factorisations <= EASY:
            step = min(1.5 * step, LONGEST_STEP)
        elif there.factorisations >= HARD:
            step = max(0.7 * step, SHORTEST_STEP)
    assert walk.here is not None
    return walk.here


def predict(before: FlowState | None, here: FlowState, reynolds: float) -> NDArray[np.float64]:
    """Unknowns expected at another Reynolds number from one or two states of the branch."""
    reach = np.log(reynolds / here.reynolds)
    slope = here.reynolds * here.tangent
    if before is None:
        return here.unknowns + reach * slope
    span = np.log(here.reynolds / before.reynolds)
    if reach > FARTHEST_CUBIC * span:
        return here.unknowns + reach * slope
    share = 1 + reach / span
    behind = before.reynolds * before.tangent
    return (
        (1 + 2 * share) * (1 - share) ** 2 * before.unknowns
        + share**2 * (3 - 2 * share) * here.unknowns
        + span * share * (1 - share) ** 2 * behind
        + span * share**2 * (share - 1) * slope
    )


def follow_from(
    task: Problem,
    starts: Sequence[NDArray[np.float64] | None],
    reynolds: Sequence[float],
    adjoint: bool = False,
) -> Branch:
    """Solve each Reynolds number from its own start, as interpolated from a coarser mesh.

    On request each state has its adjoint.

    What the mesh before got wrong changes little from one rate to the next, so each start is
    corrected by what the state before differs from its own.  Where a start is missing or not good
    enough, the branch is followed from the state before.
    """
    states: list[FlowState | None] = [None] * len(reynolds)
    walk = _Walk()
    correction: NDArray[np.float64] | float = 0.0
    for index, (wanted, start) in enumerate(zip(reynolds, starts, strict=True)):
        try:
            state = _from_start(task, walk, start, correction, wanted, adjoint)
        except NotConverged as reason:
            logger.warning("%s; higher flow rates are reported as not converged", reason)
            break
        states[index] = state
        if start is not None:
            correction = state.unknowns - start
    last = walk.here.reynolds if walk.here else 0.0
    return Branch(states, last, walk.newton_steps, walk.failed_steps)


def _from_start(
    task: Problem,
    walk: _Walk,
    start: NDArray[np.float64] | None,
    correction: NDArray[np.float64] | float,
    wanted: float,
    adjoint: bool,
) -> FlowState:
    """One state from its own start if that serves, else along the branch."""
    if start is not None:
        try:
            state = newton(task, start + correction, wanted, adjoint=adjoint)
        except NotConverged:
            walk.failed_steps += 1
        else:
            walk.reach(state)
            return state
    return _advance(task, walk, wanted, adjoint)
