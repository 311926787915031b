"""The computed flow of the open nozzle benchmark against what laboratories measured in it.

A pipe of 12 mm, a square edge (z = 0), a throat of 4 mm by 40 mm, a cone of 20° and the pipe.
Pressures are those of taps in the wall, in units of the throat's dynamic pressure q, each segment
between two taps by itself: over the whole nozzle errors partly cancel.  Up to throat Reynolds
number 2000 the laminar solution answers.  At 5000 it is known to be wrong behind a square edge,
and what is put to the test is the span up to the end of the throat.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from borestudy.closed_form.nozzle_taps import SOURCE, TAP_DROPS
from borestudy.flow.regime import LAMINAR_BELOW

#: Velocity on the axis over the throat's mean at z [mm]; the pressures there are good to 1 q only.
CENTRE_VELOCITY = {
    500.0: {0.0: 0.95, 4.0: 1.36, 32.0: 1.83, 40.0: 1.87, 72.0: 1.49, 100.0: 1.29},
}
#: How far from the laboratories' range a segment may lie, as a share of the overall drop: taps are
#: read against one another, and a segment with next to no drop has no share of its own.
TAP_SHARE = 0.03
#: Of a velocity on the axis.
VELOCITY_SHARE = 0.08
OVERALL = (-32.0, 90.0)
WITHIN, OUTSIDE = "agrees", "does not agree"
NEAR = "beyond the range, by less than 3 % of the overall drop"
#: How near a solved Reynolds number has to be to a measured one.
SAME_REYNOLDS = 0.01
#: From here to the throat's end is what the span is stated for.
TO_THROAT_END = (-32.0, 40.0)


def nozzle_rows(flow: Mapping[str, Any], edge_mm: float) -> list[dict[str, Any]]:
    """Computed against measured, one row a segment between taps or a place on the axis.

    Parameters
    ----------
    flow : mapping
        What the flow stage wrote (``flow.json``) for the nozzle's stations.
    edge_mm : float
        Position of the square edge.

    Returns
    -------
    list of dict
        ``throat_reynolds``, ``quantity``, ``unit``, ``z_mm`` (of the second tap or the place),
        ``computed``, ``measured``, ``measured_low``, ``measured_high``, ``deviation_percent``
        and ``tolerance_percent`` (of a velocity's own value, of a tap's overall drop),
        ``span_low``, ``span_high`` (None where no span is stated),
        ``verdict`` and ``source``.
    """
    rows: list[dict[str, Any]] = []
    for reynolds, places in CENTRE_VELOCITY.items():
        rows += _velocity_rows(_solved(flow, reynolds), edge_mm, reynolds, places)
    for reynolds, segments in TAP_DROPS.items():
        rows += _tap_rows(_solved(flow, reynolds), edge_mm, reynolds, segments)
    return rows


def line_of(rate: Mapping[str, Any], line: str, quantity: str, edge_mm: float) -> Any:
    """Positions z [mm] and values along ``axis`` or ``wall`` of one flow rate's results."""
    along = rate[line]
    return np.asarray(along["position_mm"]) - edge_mm, np.asarray(along[quantity])


def _solved(flow: Mapping[str, Any], reynolds: float) -> Mapping[str, Any]:
    """The converged row at a Reynolds number, empty where there is none."""
    for row in flow["rates"]:
        if row["converged"] and abs(row["throat_reynolds"] / reynolds - 1) < SAME_REYNOLDS:
            return row
    return {}


def _velocity_rows(
    rate: Mapping[str, Any], edge_mm: float, reynolds: float, places: Mapping[float, float]
) -> list[dict[str, Any]]:
    rows = []
    for place, measured in places.items():
        computed = float("nan")
        if rate:
            position, velocity = line_of(rate, "axis", "velocity_m_per_s", edge_mm)
            computed = float(np.interp(place, position, velocity)) / rate["throat_velocity_m_per_s"]
        low, high = measured * (1 - VELOCITY_SHARE), measured * (1 + VELOCITY_SHARE)
        row = _row(reynolds, f"axial velocity on the axis, z = {place:g} mm", "U", place)
        row |= _compared(computed, (measured, low, high), VELOCITY_SHARE, measured)
        rows.append(row | {"verdict": WITHIN if low <= computed <= high else OUTSIDE})
    return rows


def _tap_rows(
    rate: Mapping[str, Any],
    edge_mm: float,
    reynolds: float,
    segments: Mapping[tuple[float, float], tuple[float, float, float]],
) -> list[dict[str, Any]]:
    rows = []
    for taps, measured in segments.items():
        computed, span = float("nan"), None
        if rate:
            position, pressure = line_of(rate, "wall", "pressure_Pa", edge_mm)
            first, last = np.interp(taps, position, pressure / rate["dynamic_pressure_Pa"])
            computed = float(first - last)
            if taps == TO_THROAT_END:
                span = _span(rate)
        row = _row(reynolds, f"p({taps[0]:g}) - p({taps[1]:g} mm)", "q", taps[1])
        row |= _compared(computed, measured, TAP_SHARE, segments[OVERALL][0])
        mean, low, high = measured
        verdict = _tap_verdict(computed, low, high, TAP_SHARE * segments[OVERALL][0])
        if reynolds > LAMINAR_BELOW:
            verdict = "not claimed: laminar solution beyond its range"
            if span:
                verdict = "span holds" if span[0] <= mean <= span[1] else "outside the span"
        if span:
            row |= {"span_low": span[0], "span_high": span[1]}
        rows.append(row | {"verdict": verdict})
    return rows


def _span(rate: Mapping[str, Any]) -> tuple[float, float]:
    """Low and high of the drop to the throat's end [q]; the pipe before it costs 0.001 q."""
    low, high = (rate[f"pressure_drop_to_throat_end_{end}_Pa"] for end in ("low", "high"))
    return low / rate["dynamic_pressure_Pa"], high / rate["dynamic_pressure_Pa"]


def _row(reynolds: float, quantity: str, unit: str, place: float) -> dict[str, Any]:
    return {"throat_reynolds": reynolds, "quantity": quantity, "unit": unit, "z_mm": place}


def _compared(
    computed: float, measured: tuple[float, float, float], share: float, scale: float
) -> dict[str, Any]:
    mean, low, high = measured
    return {
        "computed": computed,
        "measured": mean,
        "measured_low": low,
        "measured_high": high,
        "deviation_percent": 100 * (computed - mean) / scale,
        "tolerance_percent": 100 * share,
        "span_low": None,
        "span_high": None,
        "source": SOURCE,
    }


def _tap_verdict(computed: float, low: float, high: float, allowance: float) -> str:
    if low <= computed <= high:
        return WITHIN
    return NEAR if low - allowance <= computed <= high + allowance else OUTSIDE
