"""Comparison errors and verdicts by one rule for every family of flows.

A comparison passes where the estimate is as near to what was measured as that is known and as the
allowed error of its part leaves it.  Neither depends on what was computed.
"""

from math import hypot

import numpy as np

from borestudy.bore import Bore, passage
from borestudy.flow.models.of_bore import model_of
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.results.error_parts import stated_error
from borestudy.results.error_sizes import Sides, shipped_sizes

#: Allowed error of the estimate as a share of the drop up to the throat's end, or of the whole.
ENTRY_SHARE, ORIFICE_SHARE, WHOLE_SHARE = 0.08, 0.10, 0.15
#: Behind a sudden enlargement a jet needs this many throat diameters to fill the bore.
ENLARGEMENT = 10.0


def turbulent_share(bore: Bore, reynolds: float, start: float, end: float) -> float:
    """Share of a stretch [throat diameters] behind the place where the flow turns turbulent."""
    place = model_of("estimate", bore).transition(reynolds)
    return 0.0 if place is None else float(np.clip((end - place) / (end - start), 0, 1))


def compared(
    part: str,
    flow: str,
    kind: str,
    reynolds: float,
    bore: Bore,
    computed: Quantity,
    measured: tuple[float, float],
    source: str,
    to: float | None = None,
    share: float | None = None,
) -> ComparisonError:
    """A row of the table.

    Parameters
    ----------
    part, flow, kind, reynolds, source
        Columns of the row.
    bore : Bore
        The bore that was solved, from which its other columns follow.
    computed : Quantity
        The estimate [q].
    measured : (float, float)
        What it is compared with, and its uncertainty, about 95 %.
    to : float, optional
        Where in the throat the drop is taken, from the throat's start [throat diameters]; else at
        its end.
    share : float, optional
        Turbulent share, where the solution has no place of transition.
    """
    way = passage(bore)
    length = way.throat_length if to is None else to
    if share is None:
        stretches = {
            "entry": (way.throat_start, way.throat_start + length),
            "throat friction": (way.throat_start, way.throat_end),
            "sudden enlargement": (way.throat_end, way.throat_end + ENLARGEMENT),
        }
        behind = (way.throat_end, way.end) if part == "slow cone" else (way.throat_start, way.end)
        share = turbulent_share(bore, reynolds, *stretches.get(part, behind))
    return ComparisonError(
        part=part,
        flow=flow,
        kind=kind,
        throat_reynolds=reynolds,
        sharpness=way.sharpness,
        throat_length_D=length,
        cone_angle_deg=way.cone_angle,
        area_ratio=way.end_area,
        estimate=computed.value,
        estimate_uncertainty=computed.uncertainty or 0.0,
        measured=measured[0],
        measured_uncertainty=measured[1],
        unit="q",
        turbulent_share=share,
        source=source,
    )


def stated(row: ComparisonError) -> Sides:
    """How far below and above the estimate the truth is stated to lie, by the shipped rows [q]."""
    return stated_error(row, shipped_sizes())


def stated_row(row: ComparisonError) -> dict[str, float | str]:
    """Columns on what is stated: both sides, and whether the comparison is inside.

    It is where the error is within the stated one and the validation uncertainty together.
    """
    sides = stated(row)
    least = -hypot(sides.high, row.validation_uncertainty)
    most = hypot(sides.low, row.validation_uncertainty)
    return {
        "stated_low": sides.low,
        "stated_high": sides.high,
        "verdict": "pass" if least <= row.error <= most else "fail",
    }


def check_of(row: ComparisonError, quantity: str, allowed: float) -> Check:
    """The verdict on a comparison where the estimate may be so many q off what is true."""
    return Check(
        f"{row.flow}, {row.kind}, Re {row.throat_reynolds:.0f}",
        quantity,
        row.unit,
        row.estimate,
        row.measured,
        100 * hypot(row.measured_uncertainty, allowed) / abs(row.measured),
        row.source,
        row.estimate_uncertainty,
    )
