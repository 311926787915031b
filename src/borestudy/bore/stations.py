"""A bore from measured stations: a CSV of positions and diameters.

``straight`` joins the stations with lines: corners are kept and two stations at one position make
a step. ``smooth`` lays a monotone cubic through the stations between steps, which does not
overshoot (Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300; SciPy's PCHIP).
"""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from borestudy.bore.bore import Bore
from borestudy.bore.measured.errors import READING
from borestudy.bore.measured.measurement import Measurement, Reading, measure
from borestudy.bore.segment import Segment, line
from borestudy.bore.variation import Dimension, variation

Join = Literal["straight", "smooth"]
Outliers = Literal["refuse", "keep", "leave out"]

#: Stations either way of one to whose change a smooth curve answers, and one more.
REACH = 3


def bore_from_stations(
    path: Path | str,
    join: Join = "straight",
    outliers: Outliers = "refuse",
    reading: Reading | None = None,
) -> Bore:
    """A bore from a CSV of stations.

    The narrowest stretch is the throat (`throat_stretch`), what lies before it the cup and after
    it the backbore.

    Parameters
    ----------
    path : path
        CSV with positions and diameters, in any of the ways people write them
        (`borestudy.bore.measured`).
    join : {"straight", "smooth"}
        Lines, or a monotone cubic between steps.
    outliers : {"refuse", "keep", "leave out"}
        What is done with a station that stands alone far out of its neighbours' line.
    reading : Reading, optional
        What the file does not say itself, `outliers` among it.

    Raises
    ------
    BoreError
        Naming the line of the file, what was found and what is allowed.
    """
    return measured_bore(measure(path, reading or Reading(outliers=outliers)), join)


def measured_bore(measured: Measurement, join: Join = "straight") -> Bore:
    """The bore through the stations of a measurement."""
    return bore_through(measured.stations, join, measured.throat)


def bore_through(stations: NDArray[np.float64], join: Join, throat: tuple[int, int]) -> Bore:
    """A bore through stations, position and diameter, shape (n, 2) [m].

    The throat reaches from a first to a last station, given by their numbers.
    """
    return Bore(_name_parts(_join(stations / [1.0, 2.0], join), *throat))


def station_dimensions(
    path: Path | str, join: Join = "straight", reading: Reading | None = None
) -> list[Dimension]:
    """`dimensions_of_stations` from a file, outliers kept unless `reading` says else."""
    return dimensions_of_stations(measure(path, reading or Reading(outliers="keep")), join)


def dimensions_of_stations(measured: Measurement, join: Join = "straight") -> list[Dimension]:
    """The radius at each station of a measured bore, and its overall length.

    The length is that behind the throat: the backbore's stations move apart in proportion.  Where
    the smooth curve has a kink in its dependence on a station, as at the ends of a cylinder, the
    derivative is the mean of both sides'.
    """
    stations, throat = measured.stations, measured.throat
    whole = bore_through(stations, join, throat)
    found = [_of_radius(stations, index, join, throat, whole) for index in range(len(stations))]
    ends = float(stations[throat[1], 0]), float(stations[-1, 0])
    if ends[1] > ends[0]:

        def with_length(length: float) -> Bore:
            behind = np.maximum(stations[:, 0] - ends[0], 0) / (ends[1] - ends[0])
            changed = stations.copy()
            changed[:, 0] += behind * (length - whole.length)
            return bore_through(changed, join, throat)

        found.append(variation(with_length, whole.length, key="length", label="overall length"))
    return found


def _of_radius(
    stations: NDArray[np.float64], index: int, join: Join, throat: tuple[int, int], whole: Bore
) -> Dimension:
    """The radius at one station; the bore is drawn anew between the stations beside it only."""
    positions = stations[:, 0]
    first, last = _whole_steps(positions, index - REACH, index + REACH)
    # A throat of one station is cut from the curves on both its sides.
    single = throat[0] == throat[1] and first <= throat[0] <= last
    if single:
        first, last = min(first, throat[0] - 1), max(last, throat[0] + 1)
        first, last = _whole_steps(positions, first, last)

    def with_radius(radius: float) -> Bore:
        points = stations[first : last + 1] / [1.0, 2.0]
        points[index - first, 1] = radius
        segments = _join(points, join)
        if single:
            segments = _name_parts(segments, throat[0] - first, throat[1] - first)
        return Bore(segments)

    place = float(positions[index] - positions[0])
    label = f"radius at {1e3 * place:.4g} mm"
    local = variation(
        with_radius, stations[index, 1] / 2, key=f"station {index + 1}", label=label, position=place
    )
    # The throat's cuts before the stations drawn anew make segments of their own.
    cuts = len(whole.segments) - (len(stations) - 1) if throat[1] < first else 0
    pieces = {}
    for number, piece in local.pieces.items():
        there = first + cuts + number
        pieces[there] = replace(piece, segment=whole.segments[there])
    return replace(local, pieces=pieces)


def _whole_steps(positions: NDArray[np.float64], first: int, last: int) -> tuple[int, int]:
    """The nearest stations outward that there are and that do not leave half a step beyond them."""
    first, last = max(first, 0), min(last, len(positions) - 1)
    first -= bool(first and positions[first] == positions[first + 1])
    last += bool(last + 1 < len(positions) and positions[last] == positions[last - 1])
    return first, last


def _join(points: NDArray[np.float64], join: Join) -> list[Segment]:
    """Segments through (position, radius), the first position moved to zero."""
    points = points - [points[0, 0], 0.0]
    if join == "straight":
        return [line(first, last, "") for first, last in pairwise(points)]
    segments: list[Segment] = []
    steps = np.flatnonzero(np.diff(points[:, 0]) == 0) + 1
    for run in np.split(points, steps):
        if segments:
            segments.append(line(segments[-1].stop, run[0], ""))
        segments += _monotone(run)
    return segments


def _monotone(points: NDArray[np.float64]) -> list[Segment]:
    """Monotone cubics through points, as Bézier curves with x at even thirds."""
    slopes = PchipInterpolator(*points.T).derivative()(points[:, 0])
    tangents = np.column_stack([np.ones(len(points)), slopes])
    thirds = np.diff(points[:, :1], axis=0) / 3
    first, last = points[:-1], points[1:]
    legs = (first + thirds * tangents[:-1], last - thirds * tangents[1:])
    return [Segment(each, np.ones(4), "") for each in np.stack([first, *legs, last], axis=1)]


def _name_parts(segments: list[Segment], first: int, last: int) -> list[Segment]:
    """The same segments with their parts named: the throat from a first to a last station.

    A throat of one station is given the stretch that is wider by no more than two readings'
    errors, in which no other station is.
    """
    before, throat, after = segments[:first], segments[first:last], segments[last:]
    if first == last:
        limit = (after[0].start if after else before[-1].stop)[1] + READING
        if before and not before[-1].is_step:
            wide, narrow = _cut(before.pop(), limit)
            before, throat = [*before, wide], [narrow]
        if after and not after[0].is_step:
            narrow, wide = _cut(after.pop(0), limit)
            after, throat = [wide, *after], [*throat, narrow]
    return [
        segment.named(name)
        for name, part in (("cup", before), ("throat", throat), ("backbore", after))
        for segment in part
    ]


def _cut(segment: Segment, radius: float) -> tuple[Segment, Segment]:
    """The segment in two pieces where it passes a radius."""
    return segment.split(segment.parameter_at(radius, axis=1))
