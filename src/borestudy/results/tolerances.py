r"""How a case's quantities spread where its dimensions are off by a workshop's errors.

The errors are those of `borestudy.bore.tolerances`, uniform and independent.  Every quantity's
distribution is known to first order from its derivatives.  The sound is sampled through the
two-port, the flow has a second-order model where that is worth solving for and moves a percentile
by more than `LEAST_BEND` of the span (`borestudy.results.nonlinear`); volumes are told to first
order.

Of a power law :math:`q \propto d^n` an error with the effect a [%] moves the ends of the span by
:math:`\left|\tfrac{n-1}{4n}\right| \cdot 0.95\,a/100` of it beyond first order: below 2 % of it for
an effect of 4 %, be n -1, -2 or, as of a throat's diameter, about -4.  An error of less is not
worth solving for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.bore import Tolerance
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import IN_SI
from borestudy.results.distribution import (
    POWER,
    SEED,
    Real,
    effects,
    first_order_deviation,
    shares_of_limits,
    spread_of,
    symmetric,
    variance_shares,
    with_half,
)
from borestudy.results.nonlinear import SecondOrder, effects_of_limits, sampled_resonances
from borestudy.results.reported import Reported, reported, unreported
from borestudy.results.toleranced import (
    FIRST,
    SAMPLED,
    SECOND,
    OneTolerance,
    TolerancedQuantity,
    ToleranceResult,
)

#: Share of the span by which second order must move a percentile to be used.
LEAST_BEND = 0.02
#: Share of the variance [%] from which on an effect that is lost in its uncertainty is told.
TOLD_SHARE = 5.0


def distributions(
    case: CaseResults,
    tolerances: Sequence[Tolerance],
    *,
    two_port: TwoPort | None = None,
    termination: Termination | None = None,
    second: SecondOrder | None = None,
    power: int = POWER,
    seed: int = SEED,
) -> ToleranceResult:
    """How every quantity of a case spreads.

    Parameters
    ----------
    case : CaseResults
        With derivatives by its dimensions.
    tolerances : sequence of Tolerance
        The independent errors.
    two_port, termination : TwoPort, Termination, optional
        The case's, with derivatives by its dimensions: what is sampled of the sound.  Without
        them the sound is told to first order.
    second : mapping, optional
        Second derivatives, from `second_order`.
    power, seed : int
        Logarithm to the base 2 of the number of samples, and their seed.
    """
    shares = shares_of_limits(len(tolerances), power, seed)
    sampled: dict[str, Real] = {}
    if two_port is not None and termination is not None:
        sampled = sampled_resonances(case, tolerances, shares, two_port, termination)
    bent = second or {}
    found = [
        _distribution(one, tolerances, shares, sampled.get(name), bent.get(name, {}))
        for name, one in reported(case).items()
    ]
    lost = [TolerancedQuantity(quantity=name, note=why) for name, why in unreported(case).items()]
    return ToleranceResult(quantities=(*found, *lost), samples=len(shares), seed=seed)


def _distribution(
    one: Reported,
    tolerances: Sequence[Tolerance],
    shares: Real,
    sampled: Real | None,
    bent: Mapping[str, Real],
) -> TolerancedQuantity:
    known = effects_of_limits(one, tolerances)
    first = np.array([0.0 if each is None else each.value for each in known])
    missing = [each.label for each, of in zip(tolerances, known, strict=True) if of is None]
    named = TolerancedQuantity(
        quantity=one.name,
        unit=one.unit,
        value=one.value.value,
        flow_rate_L_per_s=one.flow_rate_L_per_s,
        effect_unit=one.relative_in,
        noise_floor=one.noise_floor,
    )
    if len(missing) == len(tolerances):
        return replace(named, note="no derivative by any dimension is known")

    keys = [each.key for each in tolerances]
    second = None
    if bent:
        columns = {keys.index(key): column for key, column in bent.items()}
        second = symmetric(columns, len(keys))
    linear = spread_of(effects(shares, first))
    spread, method, model = linear, FIRST, None
    if sampled is not None:
        spread, method = spread_of(sampled), SAMPLED
    elif second is not None:
        curved = spread_of(effects(shares, first, second))
        moved = np.abs(np.subtract(curved.percentiles, linear.percentiles)).max()
        if moved > LEAST_BEND * linear.span:
            spread, method, model = curved, SECOND, second
    # of what was sampled, half a tolerance narrows the span as it does to first order
    whole = linear.span if method == SAMPLED else spread.span
    scale = spread.span / whole if whole > 0 else 1.0
    halved = [
        scale * spread_of(effects(with_half(shares, number), first, model)).span
        for number in range(len(tolerances))
    ]
    parts = tuple(
        OneTolerance(
            key=each.key,
            label=each.label,
            unit=each.unit,
            tolerance=each.limit / IN_SI[each.unit],
            effect=None if of is None else of.value,
            effect_uncertainty=None if of is None else of.uncertainty,
            share_percent=None if of is None else float(share),
            span_if_halved=None if of is None else narrowed,
        )
        for each, of, share, narrowed in zip(
            tolerances, known, 100 * variance_shares(first), halved, strict=True
        )
    )
    deviation = first_order_deviation(first)
    sure = {one.key: abs(one.effect) for one in parts if one.effect and not _lost(one)}
    return replace(
        named,
        method=method,
        note=_note(missing, parts),
        first_order_deviation=deviation,
        deviation=spread.standard_deviation,
        deviation_uncertainty=_deviation_uncertainty(parts, deviation),
        percentiles=spread.percentiles,
        hold_tighter_first=max(sure, key=lambda key: sure[key], default=None),
        dimensions=parts,
    )


def _lost(one: OneTolerance) -> bool:
    """Whether an effect is lost in its own numerical uncertainty."""
    error = one.effect_uncertainty
    return one.effect is not None and error is not None and abs(one.effect) < error


def _note(missing: Sequence[str], parts: Sequence[OneTolerance]) -> str:
    """What a distribution leaves out, and what of it is numerical noise."""
    notes = [f"without {', '.join(missing)}: no derivative is known"] if missing else []
    lost = [one.label for one in parts if _lost(one) and (one.share_percent or 0.0) > TOLD_SHARE]
    if lost:
        notes.append(f"the effect of {', '.join(lost)} is less than its numerical uncertainty")
    return "; ".join(notes)


def _deviation_uncertainty(parts: Sequence[OneTolerance], deviation: float) -> float | None:
    """What the uncertainties of all effects make of the standard deviation, none cancelling."""
    known = [(one.effect, one.effect_uncertainty) for one in parts if one.effect is not None]
    if deviation == 0:
        return None
    sizes = [None if error is None else abs(effect) * error for effect, error in known]
    return None if None in sizes else sum(size or 0.0 for size in sizes) / (3 * deviation)
