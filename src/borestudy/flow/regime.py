"""The regime word of a flow, and the span its pressure drop can lie in.

Up to a throat Reynolds number of 2000 the flow is laminar and the finite-element solution is the
answer.  Above 3500 it is turbulent: the handbooks' low and high values are.  Between the two
anything between both can happen.  After an entry that is rounded enough for the flow to stay on
the wall the laminar solution was found right to the throat's end (4 %) up to 6500, so there it
stands for the part up to the throat's end and the handbooks speak for the backbore alone.  From
half that rounding on, where it is undecided whether the flow stays, the span goes over from the
one to the other in proportion to the radius, as the handbooks' throat friction does.
"""

from dataclasses import dataclass
from typing import Literal

from borestudy.closed_form.handbook import (
    Dimensions,
    Span,
    backbore_pressure_drop,
    pressure_drop_to_throat_end,
)

Regime = Literal["laminar", "transitional", "turbulent"]
#: Pipe flow stays laminar below about 2000 whatever comes in (Reynolds 1883; common practice); in
#: the open nozzle benchmark the laminar solution agrees up to the throat's end at 2000, and does
#: not from 3500 on (``snakemake validation``).
LAMINAR_BELOW, TURBULENT_ABOVE = 2000.0, 3500.0
#: Up to where, and how far, the laminar solution was from the benchmark's measured drop into the
#: throat where its smoothly converging end came first; from memory of that comparison, which is not
#: repeated here.
SMOOTH_ENTRY_HOLDS_TO, SMOOTH_ENTRY_SHARE = 6500.0, 0.04


@dataclass(frozen=True)
class DropSpan:
    """Low and high pressure drop [q], over the whole bore and over its two halves."""

    whole: Span
    to_throat_end: Span
    backbore: Span


def regime(reynolds: float) -> Regime:
    """The regime word at a throat Reynolds number."""
    if reynolds <= LAMINAR_BELOW:
        return "laminar"
    return "transitional" if reynolds <= TURBULENT_ABOVE else "turbulent"


def handbook_span(dimensions: Dimensions, reynolds: float) -> DropSpan:
    """What the handbooks give by themselves, in units of q."""
    to_throat = pressure_drop_to_throat_end(dimensions, reynolds)
    backbore = backbore_pressure_drop(dimensions, reynolds)
    return DropSpan(to_throat + backbore, to_throat, backbore)


def drop_span(
    dimensions: Dimensions, reynolds: float, to_throat_end: Span, backbore: Span
) -> DropSpan:
    """Low and high of the pressure drop, in units of q.

    Parameters
    ----------
    dimensions : Dimensions
        Of the bore.
    reynolds : float
        Of the throat.
    to_throat_end, backbore : Span
        The finite-element solution less and plus its numerical uncertainty.
    """
    word = regime(reynolds)
    if word == "laminar":
        return DropSpan(to_throat_end + backbore, to_throat_end, backbore)
    handbook = handbook_span(dimensions, reynolds)
    first, last = handbook.to_throat_end, handbook.backbore
    if word == "transitional":
        first, last = _around(first, to_throat_end), _around(last, backbore)
    if reynolds <= SMOOTH_ENTRY_HOLDS_TO:
        followed = dimensions.followed
        kept = Span(
            to_throat_end.low * (1 - SMOOTH_ENTRY_SHARE),
            to_throat_end.high * (1 + SMOOTH_ENTRY_SHARE),
        )
        first = first.scaled(1 - followed) + kept.scaled(followed)
    return DropSpan(first + last, first, last)


def _around(one: Span, other: Span) -> Span:
    return Span(min(one.low, other.low), max(one.high, other.high))
