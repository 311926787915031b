"""The computed flow of the open nozzle benchmark against what laboratories measured in it.

A pipe of 12 mm, a square edge (z = 0), a throat of 4 mm by 40 mm, a cone of 20° and the pipe.
Pressures are those of taps in the wall, in units of the throat's dynamic pressure q, each segment
between two taps by itself: over the whole nozzle errors partly cancel.

What is put to the test is the laminar solution, at every Reynolds number that was measured, and a
segment agrees only if it is within the laboratories' own range, widened by the computation's
numerical uncertainty and by nothing else.  From 3500 on the solution is beyond its range, which
stands beside the verdict and does not replace it.  The handbooks' span up to the throat's end is
judged at 3500; at 5000 the friction in it is from these very taps.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from borestudy.closed_form.handbook import Dimensions, pressure_drop_to_throat_end
from borestudy.closed_form.nozzle_taps import FRICTION_REYNOLDS, SOURCE, TAP_DROPS
from borestudy.flow.regime import LAMINAR_BELOW

#: Velocity on the axis over the throat's mean at z [mm]; the pressures there are good to 1 q only.
CENTRE_VELOCITY = {
    500.0: {0.0: 0.95, 4.0: 1.36, 32.0: 1.83, 40.0: 1.87, 72.0: 1.49, 100.0: 1.29},
}
#: Of a velocity on the axis, measured by particle image velocimetry: what laboratories differ by,
#: from memory.
VELOCITY_SHARE = 0.08
OVERALL = (-32.0, 90.0)
WITHIN, OUTSIDE = "agrees", "does not agree"
SPAN_HOLDS, SPAN_FAILS = "holds", "does not hold"
SPAN_NOT_TESTED = "not a test: its friction is from these taps"
#: The nozzle as the handbooks see it: its edge is known to be square, which its stations are not.
SQUARE_EDGED = Dimensions(
    cup_diameter=12e-3,
    throat_diameter=4e-3,
    outlet_diameter=12e-3,
    throat_length=40e-3,
    backbore_length=22.685e-3,
)
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
        and ``tolerance_percent`` (of a velocity's own value; of a tap's overall drop, beyond the
        laboratories' range), ``validity``, ``verdict``, ``span_low``, ``span_high`` and
        ``span_verdict`` (None where no span is stated), and ``source``.
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
        rows.append(row | {"verdict": _verdict(computed, low, high)})
    return rows


def _tap_rows(
    rate: Mapping[str, Any],
    edge_mm: float,
    reynolds: float,
    segments: Mapping[tuple[float, float], tuple[float, float, float]],
) -> list[dict[str, Any]]:
    rows = []
    share = _numerical_share(rate)
    allowance = share * abs(segments[OVERALL][0])
    for taps, measured in segments.items():
        computed = float("nan")
        if rate:
            position, pressure = line_of(rate, "wall", "pressure_Pa", edge_mm)
            first, last = np.interp(taps, position, pressure / rate["dynamic_pressure_Pa"])
            computed = float(first - last)
        row = _row(reynolds, f"p({taps[0]:g}) - p({taps[1]:g} mm)", "q", taps[1])
        row |= _compared(computed, measured, share, segments[OVERALL][0])
        mean, low, high = measured
        row["verdict"] = _verdict(computed, low - allowance, high + allowance)
        if taps == TO_THROAT_END and reynolds > LAMINAR_BELOW:
            span = pressure_drop_to_throat_end(SQUARE_EDGED, reynolds)
            row |= {"span_low": span.low, "span_high": span.high, "span_verdict": SPAN_NOT_TESTED}
            if reynolds != FRICTION_REYNOLDS:
                row["span_verdict"] = SPAN_HOLDS if span.low <= mean <= span.high else SPAN_FAILS
        rows.append(row)
    return rows


def _numerical_share(rate: Mapping[str, Any]) -> float:
    """The whole drop's numerical uncertainty over it, which stands for each segment's."""
    error = rate.get("pressure_drop_Pa_uncertainty")
    return float(error / abs(rate["pressure_drop_Pa"])) if error is not None else 0.0


def _row(reynolds: float, quantity: str, unit: str, place: float) -> dict[str, Any]:
    validity = "laminar" if reynolds <= LAMINAR_BELOW else "laminar solution beyond its range"
    return {
        "throat_reynolds": reynolds,
        "quantity": quantity,
        "unit": unit,
        "z_mm": place,
        "validity": validity,
    }


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
        "span_verdict": None,
        "source": SOURCE,
    }


def _verdict(computed: float, low: float, high: float) -> str:
    """A figure that is not a number does not agree."""
    return WITHIN if low <= computed <= high else OUTSIDE
