"""What a pressure drop can be: low and high, from a solution and from the handbooks.

Up to a throat Reynolds number of 2000 the flow is laminar and the finite-element solution is the
answer.  Above 3500 it is turbulent: the handbooks' low and high values are.  Between the two
anything between both can happen.  After an entry that is rounded enough for the flow to stay on
the wall the laminar solution was found right to the throat's end (4 %) up to 6500, so there it
stands for the part up to the throat's end and the handbooks speak for the backbore alone.  From
half that rounding on, where it is undecided whether the flow stays, the span goes over from the
one to the other in proportion to the radius, as the handbooks' throat friction does.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from borestudy.closed_form.handbook import (
    Dimensions,
    Span,
    backbore_pressure_drop,
    pressure_drop_to_throat_end,
)
from borestudy.flow.regime import regime

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


def spans_of_row(row: Mapping[str, Any], dimensions: Dimensions) -> dict[str, Any]:
    """Low and high of a laminar row's pressure drop, whole and in its two halves [Pa].

    Parameters
    ----------
    row : mapping
        A converged rate of the laminar solution.
    dimensions : Dimensions
        Of the bore.
    """
    dynamic, reynolds = row["dynamic_pressure_Pa"], row["throat_reynolds"]

    def computed(key: str) -> Span:
        value, error = row[key], row[f"{key}_uncertainty"] or 0.0
        return Span((value - error) / dynamic, (value + error) / dynamic)

    handbook = handbook_span(dimensions, reynolds)
    word = regime(reynolds)
    whole = computed("pressure_drop_Pa")
    halves: dict[str, Span] = {}
    if row["pressure_drop_to_throat_end_Pa"] is None:
        if word == "transitional":
            whole = _around(whole, handbook.whole)
        elif word == "turbulent":
            whole = handbook.whole
    else:
        spans = drop_span(
            dimensions,
            reynolds,
            computed("pressure_drop_to_throat_end_Pa"),
            computed("backbore_pressure_drop_Pa"),
        )
        if word != "laminar":  # the halves' numerical errors partly cancel in the laminar whole
            whole = spans.whole
        halves = {
            "pressure_drop_to_throat_end": spans.to_throat_end,
            "backbore_pressure_drop": spans.backbore,
        }
    found: dict[str, Any] = {}
    for name, span in ({"pressure_drop": whole} | halves).items():
        found[f"{name}_low_Pa"] = dynamic * span.low
        found[f"{name}_high_Pa"] = dynamic * span.high
    found["handbook"] = {
        "pressure_drop_low_Pa": dynamic * handbook.whole.low,
        "pressure_drop_high_Pa": dynamic * handbook.whole.high,
    }
    return found
