r"""The branch of laminar solutions, followed in flow rate with adaptive steps.

The Reynolds number is the only parameter: the boundary values are scaled and stay.  The
predictor is the branch's own tangent :math:`du/dRe`, which is one more solve with the factors of
the last Newton step, taken as a step in :math:`\ln Re`,

.. math:: u(Re_1) \approx u(Re_0) + Re_0 \ln(Re_1/Re_0) \; du/dRe.

A step that Newton's method does not follow is halved; one it follows easily is lengthened.
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
EASY, HARD = 4, 7


@dataclass(frozen=True)
class Branch:
    """States at the wanted Reynolds numbers, None where the branch could not be followed to.

    Attributes
    ----------
    states : list of FlowState or None
    last : float
        Highest Reynolds number that converged, 0 if none did.
    newton_steps, failed_steps : int
        Newton steps in all, and steps along the branch that had to be shortened.
    """

    states: list[FlowState | None]
    last: float
    newton_steps: int
    failed_steps: int


def follow_branch(task: Problem, reynolds: Sequence[float]) -> Branch:
    """Solve at each Reynolds number in rising order, starting from creeping flow."""
    states: list[FlowState | None] = [None] * len(reynolds)
    steps = failures = 0
    here: FlowState | None = None
    for index, wanted in enumerate(reynolds):
        try:
            here, taken, failed = _advance(task, here, wanted)
        except NotConverged as reason:
            logger.warning("%s; higher flow rates are reported as not converged", reason)
            break
        states[index] = here
        steps += taken
        failures += failed
    return Branch(states, here.reynolds if here else 0.0, steps, failures)


def _advance(task: Problem, here: FlowState | None, wanted: float) -> tuple[FlowState, int, int]:
    """Follow the branch from one state to the wanted Reynolds number."""
    taken = failed = 0
    if here is None:
        first = min(FIRST_REYNOLDS, wanted)
        here = newton(task, creeping_flow(task, first), first)
        taken += here.steps
    step = FIRST_STEP
    while here.reynolds < wanted:
        remaining = np.log(wanted / here.reynolds)
        # two even steps rather than a long and a stub
        step_now = remaining if remaining <= step else remaining / np.ceil(remaining / step)
        target = wanted if step_now == remaining else here.reynolds * np.exp(step_now)
        try:
            there = newton(task, predict(here, target), target)
        except NotConverged:
            failed += 1
            step = step_now / 2
            if step < SHORTEST_STEP:
                raise
            continue
        taken += there.steps
        if there.steps <= EASY:
            step = min(1.5 * step, LONGEST_STEP)
        elif there.steps >= HARD:
            step = max(0.7 * step, SHORTEST_STEP)
        here = there
    return here, taken, failed


def predict(state: FlowState, reynolds: float) -> NDArray[np.float64]:
    """Unknowns expected at another Reynolds number, along the tangent in ln Re."""
    reach = state.reynolds * np.log(reynolds / state.reynolds)
    return state.unknowns + reach * state.tangent


def follow_from(
    task: Problem, starts: Sequence[NDArray[np.float64] | None], reynolds: Sequence[float]
) -> Branch:
    """Solve each Reynolds number from its own start, as interpolated from a coarser mesh.

    Where that start is missing or not good enough, the branch is followed from the state before.
    """
    states: list[FlowState | None] = [None] * len(reynolds)
    steps = failures = 0
    here: FlowState | None = None
    for index, (wanted, start) in enumerate(zip(reynolds, starts, strict=True)):
        try:
            if start is None:
                raise NotConverged
            there = newton(task, start, wanted)
            steps += there.steps
        except NotConverged:
            try:
                there, taken, failed = _advance(task, here, wanted)
            except NotConverged as reason:
                logger.warning("%s; higher flow rates are reported as not converged", reason)
                break
            steps += taken
            failures += failed
        states[index] = here = there
    return Branch(states, here.reynolds if here else 0.0, steps, failures)
