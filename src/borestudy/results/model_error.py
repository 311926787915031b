"""How far the truth may lie from the best estimate of the flow, by its errors where measured.

The best estimate was compared with measurements, handbooks and a simulation, part by part: the
entry, the friction of the throat, and what a cone or a sudden enlargement behind it gives back.  A
part of a bore errs, to either side, by as much as the worst comparison of such a part did, counted
in dynamic pressures of the throat; and by more, 1 + ln of how many times, where the bore or the
rate lies outside what was compared, which a word then says.  Laminar flow errs by 2.5 % of its
drop, and the errors of turbulent flow come in between throat Reynolds numbers of 1100 and 1600.
The place where a jet turns turbulent is known to a factor of 1.4, and what that does to the drop is
an error of its own; all errors of a drop are joined as the root of the sum of their squares, each
side by itself.  In a change between two bores an error that both have in common, such as that of
one backbore, counts only as far as it changes the ratio of the two drops.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, log, pi, sqrt

from borestudy.bore import Passage
from borestudy.flow.result import FlowAtRate
from borestudy.results.error_parts import (
    AFTER_EDGE,
    BREATH,
    DROPS,
    ENTRY,
    FRICTION,
    LAMINAR,
    PLACE,
    REATTACHMENT,
    RECOVERY,
    SUDDEN,
    WHOLE,
    Way,
    errors_by_source,
    words_for,
)  # fmt: skip
from borestudy.results.error_sizes import Sides, Sizes, joined, share, shipped_sizes

#: Share of a laminar error's variance that any two bores have in common.
LAMINAR_SHARED = 0.9
#: Share of the variance of an entry's error that is its edge's, the rest being the cup's and the
#: throat's; edges differ where their run-ins do by the second, in throat diameters.  The simulated
#: bore with a rounded and a square entry errs by 0.07 and 0.06 q: more alike than this.
EDGE_SHARE, ALIKE = 0.5, 0.15
#: A place of transition counts as within the throat from this many diameters before its end on.
BLUR = 0.5
#: Least angle [degrees] that is told from others.
LEAST_ANGLE = 0.5


@dataclass(frozen=True)
class ModelError:
    """Model error of the pressure drops at one rate.

    Attributes
    ----------
    drops : mapping of str to Sides [Pa]
        For each of `DROPS`.
    sources : mapping of str to Sides [Pa]
        What the error of the whole pressure drop is from.
    words : tuple of str
        Where the bore or the rate lies outside the measurements.
    """

    drops: Mapping[str, Sides] = field(default_factory=dict)
    sources: Mapping[str, Sides] = field(default_factory=dict)
    words: tuple[str, ...] = ()


def model_error(passage: Passage, rate: FlowAtRate, sizes: Sizes | None = None) -> ModelError:
    """Model error of the best estimate of a bore's flow at one converged rate.

    Parameters
    ----------
    passage : Passage
        The bore's.
    rate : FlowAtRate
        Of the best estimate.
    sizes : Sizes, optional
        Errors by part; by default those of the comparisons that ship with the program.
    """
    sizes = sizes or shipped_sizes()
    scale = rate.dynamic_pressure_Pa or 1.0
    way = way_of(passage, rate)
    sources = errors_by_source(way, sizes)
    drops = {drop: joined(sources[drop].values()) * scale for drop in way.drops}
    whole = {name: sides * scale for name, sides in sources.get(WHOLE, {}).items()}
    rows = {name: sides for name, sides in whole.items() if sides.low or sides.high}
    return ModelError(drops, rows, words_for(way, sizes))


def way_of(passage: Passage, rate: FlowAtRate) -> Way:
    """What the errors go by, of a bore and its flow at one rate."""
    scale, place = rate.dynamic_pressure_Pa or 1.0, _place(rate)
    behind, within = passage.end - passage.throat_end, passage.throat_length
    found = {drop: getattr(rate, drop) for drop in DROPS}
    return Way(
        reynolds=rate.throat_reynolds or 0.0,
        sharpness=passage.sharpness,
        throat_length=within + passage.run_in,
        cone_angle=passage.cone_angle,
        area_ratio=passage.end_area,
        turbulent=_part((passage.end - place) / max(behind, 1.0)),
        turbulent_throat=_part((passage.throat_end - place) / max(within, 1.0)),
        in_throat=share((passage.throat_end - place) / BLUR),
        by_place=(rate.pressure_drop_by_transition_Pa or 0.0) / scale,
        drops={drop: each.value / scale for drop, each in found.items() if each is not None},
    )


def _part(share: float) -> float:
    return min(max(share, 0.0), 1.0)


def _place(rate: FlowAtRate) -> float:
    """Place of transition [throat diameters from the rim plane]; infinite where there is none."""
    if rate.transition_position_mm is None:
        return float("inf")
    area = 1e-3 * rate.flow_rate_L_per_s / (rate.throat_velocity_m_per_s or 1.0)
    return 1e-3 * rate.transition_position_mm / sqrt(4 * area / pi)


def change_error(
    ours: tuple[Passage, FlowAtRate],
    theirs: tuple[Passage, FlowAtRate],
    drop: str = WHOLE,
    sizes: Sizes | None = None,
) -> float:
    """Model error of the change of a pressure drop between two bores [percentage points].

    With R the ratio of the drops, ours over theirs, an error d of ours and one of theirs change it
    by (d_ours - R d_theirs) over theirs.  Each source's errors are joined with the correlation that
    its causes have in the two bores; an error counts with half of its width.
    """
    sizes = sizes or shipped_sizes()
    ways = [way_of(*ours), way_of(*theirs)]
    pressures = [ours[1].dynamic_pressure_Pa or 0.0, theirs[1].dynamic_pressure_Pa or 0.0]
    values = [way.drops[drop] * q for way, q in zip(ways, pressures, strict=True)]
    ratio = values[0] / values[1]
    errors = [
        {name: sides.mean * q for name, sides in errors_by_source(way, sizes)[drop].items()}
        for way, q in zip(ways, pressures, strict=True)
    ]
    alike = correlations(ours[0], theirs[0], *ways)
    variance = 0.0
    for name in errors[0]:
        own, other = errors[0][name], ratio * errors[1][name]
        variance += max(own**2 + other**2 - 2 * alike[name] * own * other, 0.0)
    return 100 * sqrt(variance) / abs(values[1])


def correlations(ours: Passage, theirs: Passage, one: Way, other: Way) -> dict[str, float]:
    """How far each source errs alike in two bores, from -1 to 1; 1 in a bore and itself."""
    flow = exp(-_apart(one.reynolds, other.reynolds))
    edge = flow * (1 - EDGE_SHARE * (1 - exp(-abs(ours.run_in - theirs.run_in) / ALIKE)))
    length = exp(-_apart(one.throat_length, other.throat_length))
    backbore = flow * exp(
        -_apart(one.cone_angle, other.cone_angle) - 0.5 * _apart(one.area_ratio, other.area_ratio)
    )
    place = flow * (1 - abs(one.in_throat - other.in_throat))
    return {
        LAMINAR: LAMINAR_SHARED + (1 - LAMINAR_SHARED) * edge * backbore,
        ENTRY: edge, FRICTION: flow * length, AFTER_EDGE: edge * length,
        REATTACHMENT: edge * length,
        RECOVERY: backbore, SUDDEN: backbore, PLACE: place, BREATH: flow,
    }  # fmt: skip


def _apart(one: float, other: float) -> float:
    """Distance of the logarithms of two positive numbers, or of what is told from nothing."""
    return abs(log(max(one, LEAST_ANGLE) / max(other, LEAST_ANGLE)))
