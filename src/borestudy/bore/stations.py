"""A bore from measured stations: a CSV of positions and diameters.

``straight`` joins the stations with lines: corners are kept and two stations at one position make
a step. ``smooth`` lays a monotone cubic through the stations between steps, which does not
overshoot (Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300; SciPy's PCHIP).
"""

from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from borestudy.bore.bore import Bore
from borestudy.bore.errors import BoreError, check_diameter, check_length, millimetres
from borestudy.bore.readings import READING, refuse_outliers, throat_stretch
from borestudy.bore.segment import Segment, line
from borestudy.bore.table import read_stations

Join = Literal["straight", "smooth"]
Outliers = Literal["refuse", "keep"]


def bore_from_stations(
    path: Path | str, join: Join = "straight", outliers: Outliers = "refuse"
) -> Bore:
    """A bore from a CSV of stations.

    The first station is the rim plane, the last the shank end. The narrowest stretch is the
    throat (`throat_stretch`), what lies before it the cup and behind it the backbore.

    Parameters
    ----------
    path : path
        CSV with the columns ``position_mm`` and ``diameter_mm``, or both in inches (``_in``).
    join : {"straight", "smooth"}
        Lines, or a monotone cubic between steps.
    outliers : {"refuse", "keep"}
        What is done with a station that stands alone far out of its neighbours' line.

    Returns
    -------
    Bore

    Raises
    ------
    BoreError
        With the line of the file, what was found and what is allowed.
    """
    path = Path(path)
    stations, lines = read_stations(path)
    try:
        _check(stations, lines)
    except BoreError as problem:
        raise BoreError("stations", f"{path.name}{problem}") from None
    if outliers == "refuse":
        refuse_outliers(path.name, stations, lines)
    return Bore(_name_parts(_join(stations / [1.0, 2.0], join), *throat_stretch(stations)))


def _check(stations: NDArray[np.float64], lines: list[int]) -> None:
    """Refuse stations that go back, are given three times, or must be in another unit."""
    positions = stations[:, 0]
    for index, (before, after) in enumerate(pairwise(positions), start=1):
        if (stations[index] == stations[index - 1]).all():
            raise BoreError(
                "",
                f", line {lines[index]}: found the station of line {lines[index - 1]} again; "
                "allowed is each once, or two diameters at one position, which make a step, for "
                "example 10,16 and 10,3.66",
            )
        if after < before:
            raise BoreError(
                "",
                f", line {lines[index]}: found position {millimetres(after)} after "
                f"{millimetres(before)}; allowed are ascending positions, for example 0, 1.5, 3.0",
            )
        if index > 1 and positions[index - 2] == after:
            raise BoreError(
                "",
                f", line {lines[index]}: found a third station at {millimetres(after)}; allowed "
                "are two at one position, which make a step, for example 10,16 and 10,3.66",
            )
    for end, (first, last) in (("first", (0, 1)), ("last", (-2, -1))):
        if positions[first] == positions[last]:
            raise BoreError(
                "",
                f", line {lines[last]}: found a step at the {end} position; allowed are steps "
                "between the first and the last position, for example at 10 mm of 88 mm",
            )
    try:
        check_length("", float(positions[-1] - positions[0]))
    except BoreError as problem:
        raise BoreError("", f": overall length: {problem}") from None
    for line_number, diameter in zip(lines, stations[:, 1], strict=True):
        try:
            check_diameter("", float(diameter))
        except BoreError as problem:
            raise BoreError("", f", line {line_number}: diameter: {problem}") from None


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
    pieces = []
    for index in range(len(points) - 1):
        (x0, r0), (x1, r1) = points[index : index + 2]
        third = (x1 - x0) / 3
        control = [
            (x0, r0),
            (x0 + third, r0 + third * slopes[index]),
            (x1 - third, r1 - third * slopes[index + 1]),
            (x1, r1),
        ]
        pieces.append(Segment(np.array(control), np.ones(4), ""))
    return pieces


def _name_parts(segments: list[Segment], first: int, last: int) -> list[Segment]:
    """The same segments with their parts named: the throat from a first to a last station.

    A throat of one station is given the stretch that is wider by no more than two readings'
    errors, in which no other station is.
    """
    before, throat, behind = segments[:first], segments[first:last], segments[last:]
    if first == last:
        limit = (behind[0].start if behind else before[-1].stop)[1] + READING
        if before and not before[-1].is_step:
            wide, narrow = _cut(before.pop(), limit)
            before, throat = [*before, wide], [narrow]
        if behind and not behind[0].is_step:
            narrow, wide = _cut(behind.pop(0), limit)
            behind, throat = [wide, *behind], [*throat, narrow]
    return [
        segment.named(name)
        for name, part in (("cup", before), ("throat", throat), ("backbore", behind))
        for segment in part
    ]


def _cut(segment: Segment, radius: float) -> tuple[Segment, Segment]:
    """The segment in two pieces where it passes a radius."""
    return segment.split(segment.parameter_at(radius, axis=1))
