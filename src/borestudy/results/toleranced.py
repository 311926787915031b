"""What a workshop's errors do to the first case: the records, and the table of them."""

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from borestudy.provenance import Provenance
from borestudy.results.distribution import PERCENTILES
from borestudy.results.tables.files import Row, frame_of

#: How a distribution was found.
FIRST, SECOND, SAMPLED = "first order", "second order", "sampled two-port"
#: What a row of all errors together has in place of a dimension.
ALL = "all dimensions"


@dataclass(frozen=True, kw_only=True)
class OneTolerance:
    """What one dimension's error has to do with a quantity's distribution.

    Attributes
    ----------
    key, label, unit : str
        The dimension.
    tolerance : float
        Greatest error either way [mm, degrees or 1].
    effect, effect_uncertainty : float or None
        Change of the quantity where the dimension is larger by the tolerance, to first order, and
        its numerical uncertainty [cents or percent]; None where the derivative is not known.
    share_percent : float or None
        Share of the variance, to first order.
    span_if_halved : float or None
        Span of the quantity if this tolerance alone were half as large.
    """

    key: str
    label: str
    unit: str
    tolerance: float
    effect: float | None = None
    effect_uncertainty: float | None = None
    share_percent: float | None = None
    span_if_halved: float | None = None


@dataclass(frozen=True, kw_only=True)
class TolerancedQuantity:
    """One quantity's distribution, in cents of a frequency and else in percent.

    Attributes
    ----------
    quantity, unit, value
        Name, unit, and value of the bore as drawn; None without one.
    flow_rate_L_per_s : float or None
        The flow rate it is at.
    effect_unit : str
        ``cents`` or ``percent``.
    method : str
        `FIRST`, `SECOND` or `SAMPLED`; nothing where there is no distribution.
    note : str
        Why there is none, what it leaves out, or what of it is numerical noise.
    first_order_deviation, deviation, deviation_uncertainty : float or None
        Standard deviation to first order, by the method, and what the numerical uncertainties of
        the effects make of it.
    percentiles : tuple of float
        Change from the bore as drawn at each of `PERCENTILES`.
    hold_tighter_first : str or None
        Key of the dimension with the largest share of the variance, of those whose effect is
        larger than its numerical uncertainty: half of its tolerance takes most from the variance.
    noise_floor : float or None
        The quantity's own numerical uncertainty.
    dimensions : tuple of OneTolerance
    """

    quantity: str
    unit: str = ""
    value: float | None = None
    flow_rate_L_per_s: float | None = None
    effect_unit: str = ""
    method: str = ""
    note: str = ""
    first_order_deviation: float | None = None
    deviation: float | None = None
    deviation_uncertainty: float | None = None
    percentiles: tuple[float, ...] = ()
    hold_tighter_first: str | None = None
    noise_floor: float | None = None
    dimensions: tuple[OneTolerance, ...] = ()

    @property
    def span(self) -> float | None:
        """Width of the interval that holds 95 % of the bores."""
        return self.percentiles[-1] - self.percentiles[0] if self.percentiles else None

    @property
    def tighter(self) -> OneTolerance | None:
        """The dimension to hold tighter first."""
        found = (one for one in self.dimensions if one.key == self.hold_tighter_first)
        return next(found, None)


@dataclass(frozen=True, kw_only=True)
class ToleranceResult:
    """Every quantity's distribution, from so many samples by a seed."""

    quantities: tuple[TolerancedQuantity, ...] = ()
    samples: int = 0
    seed: int = 0
    provenance: Provenance | None = None


def tolerance_table(result: ToleranceResult) -> pd.DataFrame:
    """For each quantity a row of all errors together, and one of each dimension's."""
    rows = [row for one in result.quantities for row in _rows(one, result)]
    return frame_of(rows)


def _rows(found: TolerancedQuantity, result: ToleranceResult) -> Iterator[Row]:
    named: Row = {
        "quantity": found.quantity,
        "flow_rate_L_per_s": found.flow_rate_L_per_s,
        "value": found.value,
        "unit": found.unit,
        "effect_unit": found.effect_unit,
    }
    tighter, drawn = found.tighter, bool(found.percentiles)
    at = found.percentiles or (None,) * len(PERCENTILES)
    yield {
        **named,
        "dimension": ALL,
        "dimension_label": ALL,
        "tolerance": None,
        "tolerance_unit": "",
        "first_order_effect": None,
        "first_order_effect_uncertainty": None,
        "share_of_variance_percent": None,
        "standard_deviation_first_order": found.first_order_deviation,
        "standard_deviation": found.deviation,
        "standard_deviation_uncertainty": found.deviation_uncertainty,
        **{f"percentile_{share:g}": one for share, one in zip(PERCENTILES, at, strict=True)},
        "span": found.span,
        "hold_tighter_first": found.hold_tighter_first or "",
        "span_if_halved": None if tighter is None else tighter.span_if_halved,
        "noise_floor": found.noise_floor,
        "method": found.method,
        "samples": result.samples if drawn else None,
        "seed": result.seed if drawn else None,
        "note": found.note,
    }
    for one in found.dimensions:
        yield {
            **named,
            "dimension": one.key,
            "dimension_label": one.label,
            "tolerance": one.tolerance,
            "tolerance_unit": one.unit,
            "first_order_effect": one.effect,
            "first_order_effect_uncertainty": one.effect_uncertainty,
            "share_of_variance_percent": one.share_percent,
            "hold_tighter_first": "",
            "span_if_halved": one.span_if_halved,
            "method": FIRST if one.effect is not None else "",
            "note": "" if one.effect is not None else NO_DERIVATIVE,
        }


NO_DERIVATIVE = "the derivative is not known"
