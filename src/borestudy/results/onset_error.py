r"""Model error of a change of threshold, from that of the steady pressure drop.

A share :math:`e` by which the steady drop and its slope are off moves a threshold :math:`p_m` by
the share :math:`s e`, with :math:`s = 1 - p_0/p_m`, where :math:`p_0` is the threshold without the
stream: to first order, since both the mean pressure in the cup and the resistance in the throat go
with the drop.  Of two bores A and B the ratio of thresholds is off by the share

.. math:: s_A e_A - s_B e_B = \tfrac{s_A + s_B}{2} (e_A - e_B) + (s_A - s_B) \tfrac{e_A + e_B}{2}.

The first term has the model error of the change of the drop (`borestudy.results.model_error`), the
second that of a drop.  Both are taken at the flow rate of the study that is nearest to the
threshold's.  What the equations of the lips leave out is in neither.
"""

from dataclasses import dataclass
from math import hypot, log

from borestudy.bore import Passage
from borestudy.flow.result import FlowAtRate
from borestudy.results import model_error
from borestudy.results.case import CaseResults
from borestudy.results.estimate import WHOLE
from borestudy.results.onset import OnsetOfRegister


def change_error(
    case: CaseResults, first: CaseResults, found: OnsetOfRegister, before: OnsetOfRegister
) -> float:
    """Model error of a threshold's change against another case's [percentage points].

    Parameters
    ----------
    case, first : CaseResults
        The case, and what it is compared with.
    found, before : OnsetOfRegister
        The register in both.

    Returns
    -------
    float
        0 where one of the bores has no flow or no threshold.
    """
    own, other = _by_stream(found), _by_stream(before)
    ours, theirs = _nearest(case, found), _nearest(first, before)
    if own is None or other is None or ours is None or theirs is None:
        return 0.0
    of_drops = model_error.change_error(
        (ours.passage, ours.figures), (theirs.passage, theirs.figures)
    )
    # percentage points of the ratio of the drops, as per cent of that ratio
    apart = of_drops * theirs.drop / ours.drop
    both = 100 * (ours.share + theirs.share) / 2
    ratio = own.whole / other.whole
    return ratio * hypot((own.share + other.share) / 2 * apart, (own.share - other.share) * both)


@dataclass(frozen=True)
class _Stream:
    """A threshold [Pa], and the share of it that is the stream's."""

    whole: float
    share: float


def _by_stream(found: OnsetOfRegister) -> _Stream | None:
    whole, still = found.mouth_pressure, found.mouth_pressure_without_stream
    if whole is None or still is None:
        return None
    return _Stream(whole.value, 1 - still.value / whole.value)


@dataclass(frozen=True)
class _Drop:
    """Of one flow rate the bore's drop [Pa], and its model error as a share of it."""

    passage: Passage
    figures: FlowAtRate
    drop: float
    share: float


def _nearest(case: CaseResults, found: OnsetOfRegister) -> _Drop | None:
    """The drop at the rate nearest to a threshold's flow, by the ratio of the two."""
    wanted = None if found.flow_rate is None else found.flow_rate.value
    known = [
        (abs(log(rate.flow_rate_L_per_s / wanted)), rate)
        for rate in case.rates
        if wanted and rate.quantity(WHOLE) is not None
    ]
    if not known:
        return None
    _, rate = min(known, key=lambda pair: pair[0])
    drop, figures, error = rate.quantity(WHOLE), rate.figures, rate.model_error
    passage = case.flow.passage
    if drop is None or figures is None or error is None or passage is None or drop.value <= 0:
        return None
    return _Drop(passage, figures, drop.value, error.drops[WHOLE].mean / drop.value)
