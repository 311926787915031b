r"""What the errors of a bore's measured stations make of its results.

A station's diameter has an error of its own, half-width :math:`d_k`, and all diameters share one,
:math:`c`.  With the derivative :math:`q_k` of a quantity by each station's radius, to first order,

.. math:: u^2 = \sum_k (q_k d_k / 2)^2 + \left(\tfrac{c}{2} \sum_k q_k\right)^2

(JCGM 100:2008, 5.1.2 and 5.2.2: independent errors, and one that all have in common).  It is a
half-width at about 95 %, as its causes are, and is nothing that a finer mesh would change.

Two bores made from the same stations, as one before and after a cut, have the errors in common:
what they make of a change is the same sum of the differences of both bores' derivatives.  Between
bores of different stations the errors are independent.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.result import Resonance
from borestudy.bore.measured.record import MeasurementRecord
from borestudy.intervals import ratio_of_cents
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedRate

#: What the columns of it are called after the quantity's own.
ENDING = "_measurement_uncertainty"
#: What stands for the error of a bore that was not measured: none.
NO_ERROR = 0.0


@dataclass(frozen=True, eq=False)
class Effects:
    """What the errors of some stations make of a quantity, in cents or percent of it.

    Attributes
    ----------
    measured : MeasurementRecord
        The stations.
    each : ndarray, shape (n,)
        Effect of each station's own error, with its sign.
    together : float
        Effect of the error that all diameters share.
    """

    measured: MeasurementRecord
    each: NDArray[np.float64]
    together: float

    @property
    def size(self) -> float:
        """Half-width of what all errors make together."""
        return float(np.sqrt((self.each**2).sum() + self.together**2))


def of_slopes(
    measured: MeasurementRecord, slopes: Mapping[str, Quantity | None], per: float = 1.0
) -> Effects | None:
    """The effects of stations' errors on a quantity.

    Parameters
    ----------
    measured : MeasurementRecord
        The stations with their errors.
    slopes : mapping of str to Quantity
        Derivative per mm of each station's radius, by the keys ``station 1``, ``station 2``, ….
    per : float
        What the derivatives are multiplied by, as 100 over the quantity for percent.

    Returns
    -------
    Effects or None
        None where the derivative by a station is not known.
    """
    found = [slopes.get(f"station {number + 1}") for number in range(len(measured.stations))]
    if not found or any(one is None for one in found):
        return None
    values = per * np.array([0.0 if one is None else one.value for one in found])
    errors = np.array([one.diameter_mm_uncertainty or 0.0 for one in measured.stations])
    common = measured.common_mm_uncertainty
    return Effects(measured, values * errors / 2, float(values.sum()) * common / 2)


def of_peak(case: CaseResults, peak: Resonance | None, quantity: str) -> Effects | None:
    """Effects on a field of one of a case's resonances, in cents of its frequency or percent."""
    value = None if peak is None else getattr(peak, quantity)
    if case.measurement is None or peak is None or value is None:
        return None
    slopes = {key: getattr(one, quantity) for key, one in peak.by_dimension.items()}
    per = 1.0 if quantity == "frequency" else 100 / abs(value.value)
    return of_slopes(case.measurement, slopes, per)


def of_rate(case: CaseResults, rate: EstimatedRate | None, quantity: str) -> Effects | None:
    """Effects on a figure of a case's flow at one rate, in percent."""
    value = None if rate is None else rate.quantity(quantity)
    if case.measurement is None or rate is None or rate.figures is None or value is None:
        return None
    slopes = {key: getattr(one, quantity, None) for key, one in rate.figures.by_dimension.items()}
    return of_slopes(case.measurement, slopes, 100 / abs(value.value)) if value.value else None


def of_volume(case: CaseResults, quantity: str) -> float | None:
    """Half-width of a volume of a case's bore [cm³]; None where it was not measured."""
    if case.measurement is None:
        return None
    slopes = {one.key: Quantity(one.volumes.get(quantity, 0.0), 0.0) for one in case.dimensions}
    found = of_slopes(case.measurement, slopes)
    return None if found is None else found.size


def of_change(
    case: CaseResults, first: CaseResults, found: Callable[[CaseResults], Effects | None]
) -> float | None:
    """What the stations' errors make of the change of a quantity from one case to another.

    Parameters
    ----------
    case, first : CaseResults
        The case, and what it is compared with.
    found : callable
        Gives the effects on the quantity of either case, in cents or percent.

    Returns
    -------
    float or None
        Half-width in cents or percent; 0 where neither was measured, None where one was and the
        effects on it are not known.
    """
    effects = [found(each) for each in (case, first)]
    sizes = [
        NO_ERROR if each.measurement is None else None if effect is None else effect.size
        for each, effect in zip((case, first), effects, strict=True)
    ]
    ours, theirs = effects
    if ours is not None and theirs is not None and same_stations(ours.measured, theirs.measured):
        both = Effects(ours.measured, ours.each - theirs.each, ours.together - theirs.together)
        return both.size
    return None if None in sizes else hypot(*(size or 0.0 for size in sizes))


def same_stations(one: MeasurementRecord, other: MeasurementRecord) -> bool:
    """Whether two bores were made from the same readings."""
    return (one.file, one.stations) == (other.file, other.stations)


def in_unit(effects: Effects | None, value: Quantity | None) -> float | None:
    """Half-width of a quantity in its own unit, from its effects in cents or percent."""
    if effects is None or value is None:
        return None
    if value.unit == "Hz":
        return float(abs(value.value) * (ratio_of_cents(effects.size) - 1))
    return abs(value.value) * effects.size / 100
