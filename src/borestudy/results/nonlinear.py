r"""What a workshop's errors do beyond first order: resonances sampled, second derivatives of flow.

**Sound.**  The reduced matrices of the two-port are moved by all errors of a sample at once, each
to first order, and the resonances are found anew.

**Flow.**  A quantity q with the logarithmic derivatives :math:`g_i = q_i/q` has the second
derivatives :math:`q_{ij} = q\,(\partial_j g_i + g_i g_j)`.  The first term is the difference of the
derivatives of two bores, with one dimension some tolerances larger and as much smaller.  Coarse
meshes give it well enough, as it is a small correction of a small effect; the second is known.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.sparse import issparse

from borestudy.acoustics.samples import sampled_peaks
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.bore import Tolerance
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import IN_SI
from borestudy.results.distribution import Real, variance_shares
from borestudy.results.reported import OF_RESONANCE, RESONANCE, Reported, at_rate

#: Least effect of one tolerance on a pressure drop [%], and least share of its variance, for which
#: the flow is solved again, and how many dimensions it is solved again for.
WORTH, LEAST_SHARE, MOST_SOLVED = 4.0, 0.1, 2
#: By which it goes whether the flow is solved again.
DROP = "pressure drop"
#: How far a peak that is found with no error at all may be from the one that was reported, in
#: relative terms: of the frequency and the height, and of the Q, which rational functions give.
SAME_PEAK, SAME_Q = 1e-6, 1e-3
#: Second derivatives by shares of limits: of each quantity, by the key of an error, those by that
#: error and each of all.
SecondOrder = Mapping[str, Mapping[str, Real]]


def effects_of_limits(one: Reported, tolerances: Sequence[Tolerance]) -> list[Quantity | None]:
    """What each error does to a quantity at its limit, to first order [cents or percent]."""
    return [
        one.effect_of(
            {key: share * each.limit / IN_SI[each.unit] for key, share in each.moves.items()}
        )
        for each in tolerances
    ]


def sampled_resonances(
    case: CaseResults,
    tolerances: Sequence[Tolerance],
    shares: Real,
    two_port: TwoPort,
    termination: Termination,
) -> dict[str, Real]:
    """Changes of a case's resonances in each sample of errors, by the quantities' names.

    Parameters
    ----------
    case : CaseResults
        With the resonances of the two-port and the termination.
    tolerances : sequence of Tolerance
        The errors.
    shares : ndarray, shape (n_samples, n_errors)
        Errors as shares of their limits.
    two_port, termination : TwoPort, Termination
        The bore as drawn, with derivatives by its dimensions.

    Returns
    -------
    dict of str to ndarray, shape (n_samples,)
        In cents of a frequency, else in percent.  A resonance is missing that is not found in
        every sample; all are where the two-port lacks a derivative or has no reduced basis, on
        which samples would cost as much as solves.
    """
    keys = list(two_port.dimensions)
    moved = {key for each in tolerances for key in each.moves}
    if not moved <= set(keys) or issparse(two_port.finest.operator.matrices[0]):
        return {}
    moves = np.array([[each.moves.get(key, 0.0) for key in keys] for each in tolerances])
    limits = np.array([each.limit for each in tolerances])
    amounts = np.vstack([np.zeros(len(keys)), (shares * limits) @ moves])
    known = [
        [np.nan if each is None else each.value for each in (peak.frequency, peak.Q)]
        for peak in case.resonances
    ]
    peaks = np.array(known).reshape(-1, 2)
    found = sampled_peaks(two_port, termination, keys, amounts, peaks)
    changes: dict[str, Real] = {}
    for place in range(len(peaks)):
        drawn, samples = found[0, place], found[1:, place]
        same = np.abs(drawn[:2] / peaks[place] - 1) < [SAME_PEAK, SAME_Q]
        if not (same.all() and np.isfinite(samples).all()):
            continue
        figures = [cents(samples[:, 0] / drawn[0]), *(100 * (samples / drawn - 1).T[1:])]
        stems = [RESONANCE] if place == 0 else []
        stems += [f"peak {place + 1}"] if case.has_air_column else []
        for stem in stems:
            for ending, change in zip(OF_RESONANCE.values(), figures, strict=True):
                changes[f"{stem}{ending}"] = np.asarray(change)
    return changes


def worth_solving(
    quantities: Mapping[str, Reported], tolerances: Sequence[Tolerance]
) -> list[Tolerance]:
    """Errors for which the flow is worth solving again, none where first order is enough.

    Those whose effect on the pressure drop at any rate is above `WORTH` and that have more than
    `LEAST_SHARE` of its variance, at most `MOST_SOLVED` of them, those with the largest shares.
    """
    worth: dict[int, float] = {}
    for name, one in quantities.items():
        if one.flow_rate_L_per_s is None or name != at_rate(DROP, one.flow_rate_L_per_s):
            continue
        known = [0.0 if each is None else each.value for each in effects_of_limits(one, tolerances)]
        for number, (effect, share) in enumerate(zip(known, variance_shares(known), strict=True)):
            if abs(effect) > WORTH and share > LEAST_SHARE:
                worth[number] = max(share, worth.get(number, 0.0))
    chosen = sorted(worth, key=lambda number: -worth[number])[:MOST_SOLVED]
    return [tolerances[number] for number in chosen]


def second_order(
    drawn: Mapping[str, Reported],
    solved: Mapping[str, tuple[Mapping[str, Reported], Mapping[str, Reported]]],
    tolerances: Sequence[Tolerance],
    step: float,
) -> dict[str, dict[str, Real]]:
    """Second derivatives of the flow's quantities, in percent, by shares of limits.

    Parameters
    ----------
    drawn : mapping of str to Reported
        The bore as drawn.
    solved : mapping
        By the key of an error, the bore with that error below zero and above it.
    tolerances : sequence of Tolerance
        All errors.
    step : float
        The error of the two bores, in limits.

    Returns
    -------
    dict
        See `SecondOrder`; without quantities that have no derivatives in one of the bores or
        change their sign between them.
    """
    keys = [each.key for each in tolerances]
    found: dict[str, dict[str, Real]] = {}
    for name, one in drawn.items():
        if one.flow_rate_L_per_s is None:
            continue
        slopes = _by_limits(one, tolerances)
        for key, sides in solved.items():
            if not all(name in side for side in sides):
                continue
            smaller, larger = (side[name] for side in sides)
            signs = {np.sign(each.value.value) for each in (one, smaller, larger)}
            below, above = (_by_limits(each, tolerances) for each in (smaller, larger))
            if len(signs) > 1:
                continue
            column = (above - below) / (2 * step)
            column += signs.pop() * slopes * slopes[keys.index(key)] / 100
            if np.isfinite(column[keys.index(key)]):
                # an error whose effect is not known has none of second order either
                found.setdefault(name, {})[key] = np.nan_to_num(column)
    return found


def _by_limits(one: Reported, tolerances: Sequence[Tolerance]) -> Real:
    """Effect of each limit, NaN where the derivative is not known."""
    known = effects_of_limits(one, tolerances)
    return np.array([np.nan if each is None else each.value for each in known])
