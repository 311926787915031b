"""The errors of one bore's flow by source, and of one row of the comparisons, in [q]."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log, sqrt, tanh

from borestudy.results.comparison_errors import ComparisonError
from borestudy.results.error_sizes import (
    BROKEN,
    CONTRACTED,
    ENLARGEMENT,
    LAMINAR_SHARE,
    NEAR,
    REATTACHED,
    STEADY,
    Sides,
    Sizes,
    blend,
    falling,
    ideal_recovery,
    joined,
    share,
)  # fmt: skip

#: The pressure drops that have a model error: whole, and its two halves.
WHOLE, TO_THROAT_END, BACKBORE = DROPS = (
    "pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop",
)  # fmt: skip
LAMINAR = "laminar flow"
ENTRY = "entry"
FRICTION = "throat friction"
AFTER_EDGE = "throat friction after a square edge"
REATTACHMENT = "reattachment in the throat"
RECOVERY = "recovery in the backbore"
SUDDEN = "sudden enlargement"
PLACE = "place of transition"
BREATH = "turbulence of the breath"
#: In which drops each source counts; an enlargement in that to the throat's end as far as the entry
#: is square, since it was measured behind square edges, with the throat before it.
COUNTS_IN = {
    LAMINAR: DROPS, ENTRY: (WHOLE, TO_THROAT_END), FRICTION: (WHOLE, TO_THROAT_END),
    AFTER_EDGE: (WHOLE, TO_THROAT_END),
    REATTACHMENT: (TO_THROAT_END, BACKBORE), RECOVERY: (WHOLE, BACKBORE),
    SUDDEN: DROPS, PLACE: (WHOLE, BACKBORE), BREATH: DROPS,
}  # fmt: skip
#: Factor to which the place of transition is known: what simulation and measured jets differ by.
PLACE_FACTOR = 1.4
#: What a jet's place does beyond first order, to the drop's high side alone, times the laminar
#: share of the way behind the throat [q]: with the place 1.4 times as far the demonstration's bore
#: (rounded entry) is up to 0.06 above the first order at 1500, and 0.013 at 4465.
BEYOND_FIRST_ORDER = 0.09
#: The first order is no longer one above this [q], times the root of the turbulent share.
MOST_BY_PLACE = 0.45
#: What it is worth whether a jet that the estimate has whole to the shank end breaks up before it
#: [q]: by 1.4 times the place's derivative where the jet of the demonstration's bore first breaks
#: up, 0.6 at 1330.  It counts in full from this Reynolds number on, and less where the estimate
#: has a part of the way turbulent, to none from half of it on.
MAY_BREAK_UP, MAY_BREAK_UP_FROM = 0.2, 1350.0
#: A square edge's jet regains about 0.4 q in each throat diameter until it is back on the wall,
#: and turns turbulent 0.6 diameters behind the edge (open nozzle benchmark).
REGAINED = 0.4 * 0.6 * log(PLACE_FACTOR)
#: By how much the drop is lower where the flow is turbulent from the rim plane on [q]: the more of
#: 4465 and 6697 in the demonstration's bore, with an entry rounded by 1 mm and a square one.
BREATH_ROUND, BREATH_SQUARE = 0.003, 0.023
#: Least angle [degrees] that growth is worked out for.
LEAST_ANGLE = 0.5


@dataclass(frozen=True)
class Way:
    """What the errors of a flow go by.

    Attributes
    ----------
    reynolds : float
        Of the throat.
    sharpness, cone_angle, area_ratio : float
        As in `borestudy.bore.Passage`, the area at the shank end.
    throat_length : float
        Of the throat with the run-in before it [throat diameters].
    turbulent, turbulent_throat : float
        Share of the way behind the throat, and of the throat, that is turbulent, 0 to 1.
    in_throat : float
        1 where the flow turns turbulent within the throat, 0 where behind it.
    by_place : float
        Change of the drop if the place of transition were e times as far [q].
    drops : mapping of str to float
        The pressure drops that are known [q].
    """

    reynolds: float
    sharpness: float
    throat_length: float
    cone_angle: float
    area_ratio: float
    turbulent: float
    turbulent_throat: float
    in_throat: float = 0.0
    by_place: float = 0.0
    drops: Mapping[str, float] = field(default_factory=dict)


def errors_by_source(way: Way, sizes: Sizes) -> dict[str, dict[str, Sides]]:
    """Errors of each known drop by source [q]."""
    alike = _errors_beside_laminar(way, sizes)
    return {
        drop: {
            LAMINAR: _laminar(way, drop),
            **{name: sides for name, sides in alike.items() if drop in COUNTS_IN[name]},
            **({SUDDEN: alike[SUDDEN] * way.sharpness} if drop == TO_THROAT_END else {}),
        }
        for drop in way.drops
    }


def _laminar(way: Way, drop: str) -> Sides:
    """Error of what is laminar; that of the backbore is of all that is between its ends."""
    size = max(map(abs, way.drops.values())) if drop == BACKBORE else abs(way.drops[drop])
    turbulent = way.turbulent_throat if drop == TO_THROAT_END else way.turbulent
    return Sides(1.0, 1.0) * (LAMINAR_SHARE * size * (1 - share(turbulent)))


def _errors_beside_laminar(way: Way, sizes: Sizes) -> dict[str, Sides]:
    """Errors that are the same in every drop that they count in."""
    unsteady = share((way.reynolds - STEADY) / (BROKEN - STEADY))
    edge, length = way.sharpness, way.throat_length
    throat = unsteady * sizes.throats.growth(length)
    before = throat * beyond(way, sizes, "throat")
    contracted = 1 - share((length - CONTRACTED) / (REATTACHED - CONTRACTED))
    moved = REGAINED * 4 * contracted * (1 - contracted)
    behind = falling(way.reynolds) * ideal_recovery(way.area_ratio)
    behind *= sizes.areas.growth(max(way.area_ratio, sizes.areas.least))
    sudden = suddenness(way.cone_angle, sizes)
    cone = behind * (1 - sudden) * sizes.angles.growth(max(way.cone_angle, LEAST_ANGLE))
    return {
        ENTRY: blend(sizes.entry, edge) * before,
        FRICTION: sizes.friction * (length * before),
        AFTER_EDGE: sizes.friction_after_edge
        * (edge * max(length - REATTACHED, 0.0) * before),
        REATTACHMENT: joined([sizes.contraction * contracted, Sides(moved, moved)])
        * (edge * before),
        RECOVERY: sizes.cone(way.cone_angle) * (cone * unsteady * beyond(way, sizes, "cone")),
        SUDDEN: sizes.enlargement * (behind * sudden * beyond(way, sizes, "enlargement")),
        PLACE: _by_place(way, sudden),
        BREATH: Sides(unsteady * (BREATH_ROUND * (1 - edge) + BREATH_SQUARE * edge), 0.0),
    }  # fmt: skip


def _by_place(way: Way, sudden: float) -> Sides:
    """What the place of a jet's transition is worth, first order and beyond.

    Within the throat it is part of the entry's error, which was compared with the place there.
    """
    first = abs(way.by_place) * log(PLACE_FACTOR)
    high = first + BEYOND_FIRST_ORDER * (1 - way.turbulent) * share(2.5 * way.turbulent)
    most = MOST_BY_PLACE * sqrt(share(way.turbulent))
    low, high = (most * tanh(side / most) if most else 0.0 for side in (first, high))
    may = share((way.reynolds - STEADY) / (MAY_BREAK_UP_FROM - STEADY))
    whole = MAY_BREAK_UP * may * (1 - share(2 * way.turbulent)) * regained(way, sudden)
    return joined([Sides(low, high), Sides(whole, 0.0)]) * (1 - way.in_throat)


def regained(way: Way, sudden: float) -> float:
    """What a jet that breaks up regains [q]: all in a cone, Borda and Carnot's behind a step."""
    step = 2 / way.area_ratio * (1 - 1 / way.area_ratio) if way.area_ratio > 1 else 0.0
    return (1 - sudden) * ideal_recovery(way.area_ratio) + sudden * step


def beyond(way: Way, sizes: Sizes, part: str) -> float:
    """Growth of a part's error above the Reynolds numbers that it was compared at."""
    return 1 + log(max(way.reynolds / sizes.reynolds[part], 1.0))


def suddenness(angle: float, sizes: Sizes) -> float:
    """0 for the widest cone that was compared and below, 1 for a sudden enlargement."""
    widest = sizes.angles.greatest
    return share(log(max(angle, widest) / widest) / log(ENLARGEMENT / widest))


def words_for(way: Way, sizes: Sizes) -> tuple[str, ...]:
    """Where a bore or its rate lies outside the comparisons."""
    found = []
    angles, throats, areas = sizes.angles, sizes.throats, sizes.areas
    if not throats.holds(way.throat_length):
        found.append(
            f"throat of {way.throat_length:.2g} diameters: compared from {throats.least:.3g} to "
            f"{throats.greatest:.3g}"
        )
    widens = way.area_ratio > 1 and way.cone_angle < ENLARGEMENT
    if widens and not angles.holds(way.cone_angle):
        found.append(
            f"cone of {way.cone_angle:.2g} degrees: compared from {angles.least:.3g} to "
            f"{angles.greatest:.3g}, and a sudden enlargement"
        )
    if way.area_ratio > areas.greatest:
        found.append(f"area ratio {way.area_ratio:.3g}: compared up to {areas.greatest:.3g}")
    part = "enlargement" if way.cone_angle > angles.greatest else "cone"
    if way.reynolds > sizes.reynolds[part] * (1 + NEAR):
        found.append(
            f"throat Reynolds number {way.reynolds:.0f}: compared up to {sizes.reynolds[part]:.0f}"
        )
    return tuple(found)


#: The sources that count in what a row compares, and the drop that it is.
ROW_SOURCES = {
    "entry": (TO_THROAT_END, (LAMINAR, ENTRY, FRICTION, AFTER_EDGE, REATTACHMENT, SUDDEN)),
    "throat friction": (TO_THROAT_END, (LAMINAR, FRICTION, AFTER_EDGE)),
    "slow cone": (BACKBORE, (LAMINAR, RECOVERY)),
    "sudden enlargement": (BACKBORE, (LAMINAR, SUDDEN)),
    "whole": (WHOLE, (LAMINAR, ENTRY, FRICTION, AFTER_EDGE, RECOVERY, SUDDEN)),
}


def stated_error(row: ComparisonError, sizes: Sizes) -> Sides:
    """What is stated for a row's own part [q], without what the place of transition adds."""
    drop, names = ROW_SOURCES[row.part]
    way = Way(
        reynolds=row.throat_reynolds,
        sharpness=row.sharpness,
        throat_length=row.throat_length_D,
        cone_angle=row.cone_angle_deg,
        area_ratio=row.area_ratio,
        turbulent=row.turbulent_share,
        turbulent_throat=row.turbulent_share,
        drops={drop: row.estimate},
    )
    sources = errors_by_source(way, sizes)[drop]
    return joined(sides for name, sides in sources.items() if name in names)
