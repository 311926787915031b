r"""What the steady stream does to the resonance: flow and acoustics of one case together.

A small oscillation on a steady flow Q feels the slope of the pressure drop,

.. math:: R = \frac{d\,\Delta p}{dQ},

as a resistance in series in the throat, as long as the flow has time to follow: the assumption is
quasi-steady.  The Strouhal number :math:`St = f D / U` of throat diameter and mean velocity says
how far it is from that: below `QUASI_STEADY_BELOW` the air passes the throat's diameter in a fifth
of a period (an argument of order, not a measured limit).  Above it the figures are kept and the
word says so.

The slope is the best estimate's.  Its model error is taken to be as large, as a share of it, as
that of the pressure drop: it is exact for an error that grows with the flow rate as the drop does.
The ends of each figure are of both errors together, and so is the uncertainty beside it, the
greater of the two sides.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.resonances import resonance_figures
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort, input_impedance, termination_at_cut
from borestudy.intervals import cents
from borestudy.provenance import Provenance
from borestudy.quantity import Quantity
from borestudy.records import quantity
from borestudy.results.estimate import WHOLE, EstimatedFlow, EstimatedRate, Interval

QUASI_STEADY_BELOW = 0.2
QUASI_STEADY, NOT_QUASI_STEADY = "quasi-steady", "not quasi-steady"
#: kPa·s/L in Pa·s/m³.
RESISTANCE_UNIT = 1e6


@dataclass(frozen=True, kw_only=True)
class StreamAtRate:
    """The first resonance on the stream of one rate, against still air.

    The series resistance is in the throat; ``…_low_…`` and ``…_high_…`` are the ends of a figure
    with both errors.  Changes are None where the stream leaves no resonance.
    """

    rate_index: int
    flow_rate_L_per_s: float
    throat_reynolds: float
    regime: str
    strouhal: float
    validity: str
    series_resistance: Quantity | None = quantity("kPa_s_per_L")
    series_resistance_low_kPa_s_per_L: float | None = None
    series_resistance_high_kPa_s_per_L: float | None = None
    resonance_change: Quantity | None = quantity("cents")
    resonance_change_low_cents: float | None = None
    resonance_change_high_cents: float | None = None
    resonance_Q_change: Quantity | None = quantity("percent")
    resonance_Q_change_low_percent: float | None = None
    resonance_Q_change_high_percent: float | None = None
    impedance_peak_change: Quantity | None = quantity("percent")
    impedance_peak_change_low_percent: float | None = None
    impedance_peak_change_high_percent: float | None = None


@dataclass(frozen=True, kw_only=True)
class StreamResult:
    """A case's first resonance on the stream, at each rate with a slope there.

    ``cut_deviation_percent`` says how far height and Q of the two halves joined without resistance
    are from the whole bore's.
    """

    cut_deviation_percent: float | None = None
    rates: tuple[StreamAtRate, ...] = ()
    not_meshed: str | None = None
    provenance: Provenance | None = None


def stream_result(
    front: TwoPort, back: TwoPort, whole: TwoPort, termination: Termination, flow: EstimatedFlow
) -> StreamResult:
    """The first resonance without and with the stream at every flow rate.

    Parameters
    ----------
    front, back, whole : TwoPort
        The bore from the rim plane to the cut, from there to the shank end, and not cut.
    termination : Termination
        Termination of the shank end.
    flow : EstimatedFlow
        The case's flow.
    """

    def blown(resistance: float) -> NDArray[np.float64] | None:
        return _first_peak(front, termination_at_cut(back, termination, resistance))

    still, uncut = blown(0.0), _first_peak(whole, termination)
    if still is None or uncut is None:
        return StreamResult()

    def changes(resistance: float) -> NDArray[np.float64]:
        """Changes of frequency [cents], Q and height [percent]."""
        peak = blown(resistance)
        if peak is None:
            return np.full(3, np.nan)
        ratio = peak / still
        return np.array([float(cents(ratio[0])), 100 * (ratio[1] - 1), 100 * (ratio[2] - 1)])

    deviation = float(np.max(np.abs(still / uncut - 1)))
    rates = tuple(
        _at_rate(index, rate, slope, changes, still[0], deviation)
        for index, rate in enumerate(flow.rates)
        if (slope := rate.quantity("differential_resistance")) is not None
    )
    return StreamResult(cut_deviation_percent=100 * deviation, rates=rates)


def _at_rate(
    index: int,
    rate: EstimatedRate,
    slope: Quantity,
    changes: Callable[[float], NDArray[np.float64]],
    frequency: float,
    deviation: float,
) -> StreamAtRate:
    """What a slope of the pressure drop changes, by the changes that a resistance makes."""
    flow_rate, velocity = 1e-3 * rate.flow_rate_L_per_s, rate.throat_velocity_m_per_s
    ends = slope_interval(rate, slope)
    computed = changes(RESISTANCE_UNIT * slope.value)
    at_ends = np.array([changes(RESISTANCE_UNIT * end) for end in (ends.low, ends.high)])
    errors = np.abs(at_ends - computed).max(axis=0) + deviation * np.abs(computed)
    strouhal = float(frequency * np.sqrt(4 * flow_rate / (np.pi * velocity)) / velocity)
    lows, highs = np.sort(at_ends, axis=0)

    def change(place: int, unit: str) -> tuple[Quantity | None, float | None, float | None]:
        """The change of one of the figures, and its ends."""
        size, error = float(computed[place]), float(errors[place])
        low, high = (
            float(end[place]) if np.isfinite(end[place]) else None for end in (lows, highs)
        )
        known = error if np.isfinite(error) else None
        return Quantity(size, known, unit) if np.isfinite(size) else None, low, high

    pitch, pitch_low, pitch_high = change(0, "cents")
    Q, Q_low, Q_high = change(1, "percent")
    height, height_low, height_high = change(2, "percent")
    return StreamAtRate(
        rate_index=index,
        flow_rate_L_per_s=rate.flow_rate_L_per_s,
        throat_reynolds=rate.throat_reynolds,
        regime=rate.regime,
        strouhal=strouhal,
        validity=QUASI_STEADY if strouhal <= QUASI_STEADY_BELOW else NOT_QUASI_STEADY,
        series_resistance=Quantity(
            slope.value, max(slope.value - ends.low, ends.high - slope.value), slope.unit
        ),
        series_resistance_low_kPa_s_per_L=ends.low,
        series_resistance_high_kPa_s_per_L=ends.high,
        resonance_change=pitch,
        resonance_change_low_cents=pitch_low,
        resonance_change_high_cents=pitch_high,
        resonance_Q_change=Q,
        resonance_Q_change_low_percent=Q_low,
        resonance_Q_change_high_percent=Q_high,
        impedance_peak_change=height,
        impedance_peak_change_low_percent=height_low,
        impedance_peak_change_high_percent=height_high,
    )


def slope_interval(rate: EstimatedRate, slope: Quantity) -> Interval:
    """What the pressure drop's slope is believed to lie between, in its own unit.

    Each side has the slope's numerical uncertainty and the share of it that the model error is of
    the pressure drop.
    """
    drop, error = rate.quantity(WHOLE), rate.model_error
    sides = None if error is None else error.drops.get(WHOLE)
    low = high = 0.0
    if drop is not None and drop.value and sides is not None:
        low, high = (abs(slope.value / drop.value) * side for side in (sides.low, sides.high))
    numerical = slope.uncertainty or 0.0
    return Interval(slope.value - hypot(numerical, low), slope.value + hypot(numerical, high))


def _first_peak(two_port: TwoPort, termination: Termination) -> NDArray[np.float64] | None:
    """Frequency, Q and height of the first resonance; None without one."""
    figures = resonance_figures(
        lambda frequencies: input_impedance(two_port, termination, frequencies),
        *two_port.range_Hz,
    )
    return figures[0] if len(figures) else None
