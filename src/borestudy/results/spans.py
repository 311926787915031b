"""What a pressure drop is believed to lie between, from the laminar solution and the handbooks.

Up to a throat Reynolds number of 2000 the flow is laminar and the finite-element solution is the
answer.  Above 3500 it is turbulent: without a turbulent solution the handbooks' low and high values
are.  Between the two anything between both can happen.  After an entry that is rounded enough for
the flow to stay on the wall the laminar solution was found right to the throat's end (4 %) up to
6500, so there it stands for the part up to the throat's end and the handbooks speak for the
backbore alone.  From half that rounding on, where it is undecided whether the flow stays, the span
goes over from the one to the other in proportion to the radius, as the handbooks' throat friction
does.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from borestudy.bore import Bore
from borestudy.closed_form import handbook as books
from borestudy.closed_form.handbook import SMOOTH_ENTRY, Dimensions, Span
from borestudy.flow.result import FlowAtRate

LAMINAR, TURBULENT, HANDBOOK = "laminar", "turbulent", "handbook"
#: The pressure drops that have a span: whole, and its two halves.
WHOLE, TO_THROAT_END, BACKBORE = DROPS = (
    "pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop",
)  # fmt: skip
HALVES = DROPS[1:]
#: Between the sources of both halves of a span's end.
AND = " and "
#: Up to where, and how far, the laminar solution was from the benchmark's measured drop into the
#: throat where its smoothly converging end came first; from memory of that comparison, which is not
#: repeated here.
SMOOTH_ENTRY_HOLDS_TO, SMOOTH_ENTRY_SHARE = 6500.0, 0.04


@dataclass(frozen=True)
class DropSpan:
    """The ends of what a pressure drop is believed to be [Pa], and what each end is from.

    That is ``laminar``, ``turbulent``, ``handbook``, or two of them joined by ``and``: up to the
    throat's end, and in the backbore.
    """

    low: float
    high: float
    low_from: str
    high_from: str

    def __add__(self, other: "DropSpan") -> "DropSpan":
        return DropSpan(
            self.low + other.low,
            self.high + other.high,
            AND.join(dict.fromkeys((self.low_from, other.low_from))),
            AND.join(dict.fromkeys((self.high_from, other.high_from))),
        )


@dataclass(frozen=True)
class Handbook:
    """What the handbooks say of one bore at one flow rate: spans of the pressure drops [Pa].

    The drop of either half is also kept by each handbook, at its low and its high end [Pa], with
    the weight of the flow's following the entry's wall, from 0 to 1.
    """

    spans: Mapping[str, Span]
    by_name: Mapping[str, Mapping[str, float]]
    followed: float = 0.0


def handbook_dimensions(bore: Bore, pipe_behind: float = 0.0) -> Dimensions:
    """What the handbooks need of a bore, with a length [m] of straight pipe after it.

    The edge of a measured bore is known between its stations only: it may be anything from square
    to rounded so far that the flow follows it.
    """
    diameter = 2 * bore.throat_radius
    radii, chamfer = (0.0, SMOOTH_ENTRY * diameter), None
    if (asked := bore.entry) is not None:
        radii = (min(asked.sizes, default=0.0), max(asked.sizes, default=0.0))
        if asked.shape == "chamfered":
            radii, chamfer = (0.0, 0.0), (asked.sizes[0], float(np.degrees(asked.angle)))
    return Dimensions(
        cup_diameter=2 * bore.rim_radius,
        throat_diameter=diameter,
        outlet_diameter=2 * bore.shank_radius,
        throat_length=bore.throat_end - bore.throat_start,
        backbore_length=bore.length - bore.throat_end,
        entry_radius=radii,
        chamfer=chamfer,
        funnel_angle=funnel_angle(bore),
        pipe_length=pipe_behind,
    )


def funnel_angle(bore: Bore) -> float | None:
    """Included angle of the cup's wall where the entry begins [degrees]; None without a funnel."""
    cup = [segment for segment in bore.segments if segment.part == "cup"]
    if not cup:
        return None
    along, across = cup[-1].tangent(1.0)
    angle = 2 * float(np.degrees(np.arctan2(-across, along)))
    return angle if 0 < angle < 180 else None


def handbook_at(dimensions: Dimensions, reynolds: float, dynamic_pressure: float) -> Handbook:
    """What the handbooks say of a bore at a throat Reynolds number and dynamic pressure [Pa]."""
    halves = {
        TO_THROAT_END: books.pressure_drop_to_throat_end(dimensions, reynolds),
        BACKBORE: books.backbore_pressure_drop(dimensions, reynolds),
    }
    named = {
        TO_THROAT_END: books.to_throat_end_by_handbook(dimensions, reynolds),
        BACKBORE: books.backbore_by_handbook(dimensions, reynolds),
    }
    spans = {WHOLE: halves[TO_THROAT_END] + halves[BACKBORE], **halves}
    return Handbook(
        {drop: span.scaled(dynamic_pressure) for drop, span in spans.items()},
        {
            drop: {
                f"{name}, {end}": dynamic_pressure * getattr(span, end)
                for name, span in found.items()
                for end in ("low", "high")
            }
            for drop, found in named.items()
        },
        dimensions.followed,
    )


def computed_span(figures: FlowAtRate, drop: str) -> Span | None:
    """A solution's pressure drop less and plus its numerical uncertainty [Pa]."""
    found = getattr(figures, drop)
    return None if found is None else Span(found.low, found.high)


def spans_of_solutions(
    solved: Mapping[str, FlowAtRate], handbook: Handbook | None
) -> dict[str, DropSpan]:
    """Spans where a turbulent solution was sought: from the least to the greatest of both.

    Where one of them is all that converged, the handbooks are the other end.
    """
    found: dict[str, DropSpan] = {}
    for drop in DROPS:
        ends = {word: computed_span(figures, drop) for word, figures in solved.items()}
        if len(solved) == 1 and handbook is not None:
            ends[HANDBOOK] = handbook.spans.get(drop)
        known = {word: span for word, span in ends.items() if span is not None}
        if known:
            low = min(known, key=lambda word: known[word].low)
            high = max(known, key=lambda word: known[word].high)
            found[drop] = DropSpan(known[low].low, known[high].high, low, high)
    return found


def spans_of_laminar(
    figures: FlowAtRate, regime: str, reynolds: float, handbook: Handbook | None
) -> dict[str, DropSpan]:
    """Spans where the laminar solution is the only one that was sought.

    Without what the handbooks say at the same rate, the solution speaks for itself.
    """
    own = {drop: span for drop in DROPS if (span := computed_span(figures, drop)) is not None}
    if regime == LAMINAR or handbook is None:
        return {drop: DropSpan(span.low, span.high, LAMINAR, LAMINAR) for drop, span in own.items()}
    halves = {
        drop: _beside_handbook(own[drop], drop, regime, reynolds, handbook)
        for drop in HALVES
        if drop in own and drop in handbook.spans
    }
    if not halves:
        return {WHOLE: _beside_handbook(own[WHOLE], WHOLE, regime, reynolds, handbook)}
    first, *rest = halves.values()
    return {WHOLE: sum(rest, first), **halves}


def _beside_handbook(
    own: Span, drop: str, regime: str, reynolds: float, handbook: Handbook
) -> DropSpan:
    """One drop's span beyond laminar flow, of the laminar solution's span and the handbooks'."""
    kept = drop == TO_THROAT_END and reynolds <= SMOOTH_ENTRY_HOLDS_TO
    weight = handbook.followed if kept else 0.0

    def end(name: Literal["low", "high"], outer: Any, sign: int) -> tuple[float, str]:
        book, computed = (getattr(span, name) for span in (handbook.spans[drop], own))
        value, source = book, HANDBOOK
        if regime != TURBULENT:
            value, source = outer((book, HANDBOOK), (computed, LAMINAR))
        if weight > 0:  # what is blended rests on the nearer
            followed = computed * (1 + sign * SMOOTH_ENTRY_SHARE)
            value = (1 - weight) * value + weight * followed
            apart = min(abs(value - computed), abs(value - followed))
            source = HANDBOOK if abs(value - book) < apart else LAMINAR
        return value, source

    (low, low_from), (high, high_from) = end("low", min, -1), end("high", max, 1)
    return DropSpan(low, high, low_from, high_from)
