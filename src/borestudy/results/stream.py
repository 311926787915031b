r"""What the steady stream does to the resonance: flow and acoustics of one case together.

A small oscillation on a steady flow Q feels the slope of the pressure drop,

.. math:: R = \frac{d\,\Delta p}{dQ},

as a resistance in series in the throat, as long as the flow has time to follow: the assumption is
quasi-steady.  The Strouhal number :math:`St = f D / U` of throat diameter and mean velocity says
how far it is from that: below `QUASI_STEADY_BELOW` the air passes the throat's diameter in a fifth
of a period (an argument of order, not a measured limit).  Above it the figures are kept and the
word says so.

Each solution of the flow has a row with its own slope.  Where beyond laminar flow there is the
laminar one alone, the span from low to high is twice the least and the greatest pressure drop over
Q, the slope of a drop that goes as Q².
"""

from typing import Any

import numpy as np

from borestudy.acoustics.resonances import impedance_peaks, quality_factors
from borestudy.acoustics.series import termination_at_cut
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.results.merged_flow import SOLUTIONS, MergedFlow, MergedRate
from borestudy.results.spans import LAMINAR, TURBULENT, WHOLE

QUASI_STEADY_BELOW = 0.2
QUASI_STEADY, NOT_QUASI_STEADY = "quasi-steady", "not quasi-steady"
#: kPa·s/L in Pa·s/m³.
RESISTANCE_UNIT = 1e6
FIGURES = ("resonance_change_cents", "resonance_Q_change_percent", "impedance_peak_change_percent")


def stream_rows(
    front: TwoPort,
    back: TwoPort,
    whole: TwoPort,
    termination: Termination,
    flow: MergedFlow,
) -> dict[str, Any]:
    """The first resonance without and with the stream at every flow rate.

    Parameters
    ----------
    front, back, whole : TwoPort
        Of the bore before the cut, behind it, and not cut.
    termination : Termination
        The shank end's.
    flow : MergedFlow
        What both solutions of the case's flow say together.

    Returns
    -------
    dict
        ``cut_deviation_percent``, of height and Q of the chain without resistance from the whole
        bore, and ``rates``: one row a flow rate and solution with the changes against
        still air.
    """
    still = _first_peak(front, termination_at_cut(back, termination))
    uncut = _first_peak(whole, termination)
    if still is None or uncut is None:
        return {"cut_deviation_percent": None, "rates": []}
    deviation = 100 * float(np.max(np.abs(still / uncut - 1)))
    rows = [_row(front, back, termination, still, deviation, *row) for row in _sloping_rows(flow)]
    return {"cut_deviation_percent": deviation, "rates": rows}


def _sloping_rows(flow: MergedFlow) -> list[tuple[MergedRate, str, Quantity]]:
    """Each rate with each solution that has a slope there."""
    return [
        (row, word, slope)
        for row in flow.rates
        for word in SOLUTIONS
        if (slope := row.quantity("differential_resistance", word)) is not None
    ]


def _row(
    front: TwoPort,
    back: TwoPort,
    termination: Termination,
    still: np.ndarray,
    deviation: float,
    row: MergedRate,
    solution: str,
    computed_slope: Quantity,
) -> dict[str, Any]:
    slope = RESISTANCE_UNIT * computed_slope.value
    error = RESISTANCE_UNIT * (computed_slope.uncertainty or 0.0)
    flow_rate = 1e-3 * row.flow_rate_L_per_s
    ends = (slope - error, slope + error)
    if row.regime != LAMINAR and row.of(TURBULENT) is None:
        span = row.spans[WHOLE]
        ends = (2 * span.low / flow_rate, 2 * span.high / flow_rate)

    def change(resistance: float) -> np.ndarray:
        blown = _first_peak(front, termination_at_cut(back, termination, resistance))
        return _changes(still, blown)

    computed, first, last = change(slope), change(ends[0]), change(ends[1])
    numerical = np.abs(change(slope + error) - computed) + deviation / 100 * np.abs(computed)
    diameter = np.sqrt(4 * flow_rate / (np.pi * row.throat_velocity_m_per_s))
    strouhal = still[0] * diameter / row.throat_velocity_m_per_s
    found: dict[str, Any] = {
        "flow_rate_L_per_s": row.flow_rate_L_per_s,
        "throat_reynolds": row.throat_reynolds,
        "regime": row.regime,
        "solution": solution,
        "strouhal": float(strouhal),
        "validity": QUASI_STEADY if strouhal <= QUASI_STEADY_BELOW else NOT_QUASI_STEADY,
        "series_resistance_kPa_s_per_L": slope / RESISTANCE_UNIT,
        "series_resistance_kPa_s_per_L_uncertainty": error / RESISTANCE_UNIT,
        "series_resistance_low_kPa_s_per_L": min(ends) / RESISTANCE_UNIT,
        "series_resistance_high_kPa_s_per_L": max(ends) / RESISTANCE_UNIT,
    }
    for index, name in enumerate(FIGURES):
        stem, unit = name.rsplit("_", 1)
        both = sorted((float(first[index]), float(last[index])))
        found |= {
            name: _finite(computed[index]),
            f"{name}_uncertainty": _finite(numerical[index]),
            f"{stem}_low_{unit}": _finite(both[0]),
            f"{stem}_high_{unit}": _finite(both[1]),
        }
    return found


def _first_peak(two_port: TwoPort, termination: Termination) -> np.ndarray | None:
    """Frequency, Q and height of the first resonance; None without one."""
    lowest, highest = two_port.lowest_frequency, two_port.highest_frequency

    def impedance(frequencies: np.ndarray) -> np.ndarray:
        return input_impedance(two_port, termination, frequencies)

    frequency, height = impedance_peaks(impedance, lowest, highest)
    if len(frequency) == 0:
        return None
    quality = quality_factors(impedance, frequency[:1], lowest, highest)
    return np.array([frequency[0], quality[0], height[0]])


def _changes(still: np.ndarray, blown: np.ndarray | None) -> np.ndarray:
    """Cents, and percent of Q and height; NaN where the stream leaves no peak."""
    if blown is None:
        return np.full(3, np.nan)
    ratio = blown / still
    return np.array([float(cents(ratio[0])), 100 * (ratio[1] - 1), 100 * (ratio[2] - 1)])


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
