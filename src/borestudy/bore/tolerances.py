"""How far a workshop may miss each dimension of a bore: the one place where that is assumed.

Each dimension's error lies anywhere within its tolerance, in either direction, with equal chance,
and independently of every other's.  Nothing but a limit is known of a dimension on a drawing, for
which the uniform distribution is the one to take (Guide to the Expression of Uncertainty in
Measurement, JCGM 100:2008, 4.3.7, from memory); its variance is a third of the limit's square.

A length's tolerance is the study's own, 0.001 in by default.  A number such as the cup's shape has
none in a workshop, where the tool is held to a length: it may be off by what moves the wall
nowhere by more than the tolerance of a diameter does, half of that, along the wall's normal.

Of a measured bore two kinds of errors are assumed, each within the tolerance of a diameter.  One
is each reading's own, as a gauge is read to about that (`borestudy.bore.readings`): the station's
radius has half of it.  The other, `ALL_DIAMETERS`, is the same at all stations: the zero of the
gauge, or the size of the tool that is made after the readings.  The first average out along the
bore and the second does not, so that neither alone says what a bore may be off by.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from borestudy.bore.bore import Bore
from borestudy.bore.variation import Dimension, Piece

#: Key of the error that the diameters at all stations of a measured bore share.
ALL_DIAMETERS = "diameters"
SAMPLES = np.linspace(0, 1, 65)


@dataclass(frozen=True)
class Tolerance:
    """One independent error of a workshop.

    Attributes
    ----------
    key, label, unit : str
        As of the `Dimension` that is in error, or `ALL_DIAMETERS`.
    limit : float
        Greatest error either way [SI].
    moves : mapping of str to float
        How much the dimensions change with the error, by their keys: the one dimension by 1, of
        `ALL_DIAMETERS` every station's radius by 1/2.
    """

    key: str
    label: str
    unit: str
    limit: float
    moves: Mapping[str, float] = field(default_factory=dict)


def tolerances_of(
    dimensions: Sequence[Dimension], tolerance: float, stated: Mapping[str, float] | None = None
) -> list[Tolerance]:
    """The independent errors of a bore's dimensions.

    Parameters
    ----------
    dimensions : sequence of Dimension
        Of a bore from dimensions or of a measured one.
    tolerance : float
        Error of every length either way [m]; the error of a station is in its diameter.
    stated : mapping of str to float, optional
        Errors of single dimensions, or `ALL_DIAMETERS`, in its place, by their keys [SI].  That of
        a station is in its diameter too.
    """
    own = stated or {}
    stations = [one.key for one in dimensions if is_station(one)]
    found = []
    for one in dimensions:
        default = tolerance if one.unit == "mm" else _as_far_as(one, tolerance / 2)
        limit = own.get(one.key, default) * (0.5 if is_station(one) else 1.0)
        found.append(Tolerance(one.key, one.label, one.unit, limit, {one.key: 1.0}))
    if stations:
        limit = own.get(ALL_DIAMETERS, tolerance)
        moves = dict.fromkeys(stations, 0.5)
        found.append(Tolerance(ALL_DIAMETERS, "all diameters together", "mm", limit, moves))
    return found


def in_error(
    bore: Bore, dimensions: Sequence[Dimension], error: Tolerance, amount: float
) -> tuple[Bore, list[Dimension]]:
    """A measured bore with an error of an amount [SI], and its own dimensions.

    The wall's control points move in proportion to the error; all dimensions of a measured bore
    have them in common.

    Raises
    ------
    ValueError
        If there is no such bore.
    """
    segments = list(bore.segments)
    for one in dimensions:
        share = amount * error.moves.get(one.key, 0.0)
        for number, piece in one.pieces.items() if share else ():
            base = segments[number]
            points, weights = base.points + share * piece.points, base.weights.copy()
            weights += share * piece.weights
            segments[number] = replace(base, points=points, weights=weights)
    found = []
    for one in dimensions:
        pieces = {
            number: replace(piece, segment=segments[number]) for number, piece in one.pieces.items()
        }
        value = one.value + amount * error.moves.get(one.key, 0.0)
        found.append(replace(one, value=value, pieces=pieces))
    return Bore(segments, bore.entry), found


def is_station(dimension: Dimension) -> bool:
    """Whether a dimension is the radius at a station of a measured bore."""
    return dimension.position is not None


def _as_far_as(dimension: Dimension, distance: float) -> float:
    """Change of a dimension that moves the wall along its normal by a distance [m] at most."""
    fastest = max((_normal_speed(piece) for piece in dimension.pieces.values()), default=0.0)
    return distance / fastest if fastest > 0 else 0.0


def _normal_speed(piece: Piece) -> float:
    """Greatest derivative of a segment's points by the dimension along the wall's normal."""
    velocity = piece.velocity(SAMPLES)
    along, outward = piece.segment.derivative(SAMPLES).T
    length = np.hypot(along, outward)
    moved = np.abs(velocity[1] * along - velocity[0] * outward)
    return float(np.max(moved[length > 0] / length[length > 0], initial=0.0))
