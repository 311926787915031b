"""What the wall does when one dimension of a bore changes: the derivative of the generatrix.

A bore's dimension is changed by a small step either way; the segments of the two bores, which
correspond to one another point by point, give the derivative of every control point and weight.
A point :math:`C(t) = N(t)/W(t)` of the wall then moves by :math:`(N' - C W')/W`, the strokes being
derivatives by the dimension.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.bore.bore import Bore
from borestudy.bore.segment import Segment

#: Units that people are told a dimension in, in SI.
IN_SI = {"mm": 1e-3, "deg": np.pi / 180, "": 1.0}
#: Points of a segment from which the nearest one is sought, and steps of that search.
SAMPLES, SEARCH_STEPS = 33, 8
#: Part of a segment's size that a point may lie outside the box round it.
ROOM = 0.02


@dataclass(frozen=True)
class Places:
    """Points of a bore's wall, shape (n, 2) [m], and the number of each one's segment, (n,)."""

    points: NDArray[np.float64]
    segment: NDArray[np.int64]
    #: Parameters of the points on segments that were asked for.
    known: dict[tuple[int, bytes], NDArray[np.float64]] = field(default_factory=dict)

    def on(self, number: int, segment: Segment) -> NDArray[np.float64]:
        """Parameters, on a segment drawn in any way, of the points with a segment's number."""
        key = number, _drawn(segment)
        if key not in self.known:
            self.known[key] = nearest(segment, self.points[self.segment == number])[0]
        return self.known[key]


@dataclass(frozen=True, eq=False)
class Piece:
    """A segment, and the derivative of its control points [m per SI unit] and of its weights."""

    segment: Segment
    points: NDArray[np.float64]
    weights: NDArray[np.float64]

    def velocity(self, parameter: NDArray[np.float64]) -> NDArray[np.float64]:
        """Derivative of the segment's points at parameters (n,) by the dimension, shape (2, n)."""
        base = self.segment
        moved = self.points * base.weights[:, None] + base.points * self.weights[:, None]
        control = np.column_stack([base.points * base.weights[:, None], base.weights])
        slope = np.column_stack([moved, self.weights])
        value, change = (Segment.blend(rows, parameter) for rows in (control, slope))
        point = value[..., :2] / value[..., 2:]
        return np.asarray((change[..., :2] - point * change[..., 2:]) / value[..., 2:]).T

    def moved(self, amount: float) -> Segment:
        """The segment where the dimension is larger by an amount [SI], to first order in it."""
        base = self.segment
        points, weights = (
            base.points + amount * self.points,
            base.weights + amount * self.weights,
        )
        return replace(base, points=points, weights=weights)


@dataclass(frozen=True, eq=False)
class Dimension:
    """One dimension of a bore, and how the wall moves with it.

    Attributes
    ----------
    key : str
        The study's key, such as ``throat.diameter``; ``station 12`` of a measured bore.
    label : str
        The dimension in words.
    unit : str
        Unit that people are told it in: ``mm``, ``deg``, or nothing for a pure number.
    value : float
        Its value in SI [m, rad, or 1].
    pieces : mapping of int to Piece
        Segments that move with it, by their number in the bore.
    position : float, optional
        Where along the axis a station lies [m].
    """

    key: str
    label: str
    unit: str
    value: float
    pieces: Mapping[int, Piece]
    position: float | None = None

    def velocity(self, places: Places) -> NDArray[np.float64]:
        """Derivative of points of the wall by the dimension, shape (2, n) [m per SI unit]."""
        found = np.zeros((2, len(places.segment)))
        for number, piece in self.pieces.items():
            chosen = places.segment == number
            if chosen.any():
                found[:, chosen] = piece.velocity(places.on(number, piece.segment))
        return found

    def changed(self, bore: Bore, amount: float) -> Bore:
        """The bore with the dimension larger by an amount [SI], to first order in it.

        Raises
        ------
        ValueError
            If there is no such bore.
        """
        segments = list(bore.segments)
        for number, piece in self.pieces.items():
            segments[number] = piece.moved(amount)
        return Bore(segments, bore.entry)

    def extended(self, bore: Bore, length: float) -> "Dimension":
        """The same dimension of the bore with a straight pipe behind it: see `Bore.extended`."""
        whole, last = bore.extended(length), len(bore.segments) - 1
        if last not in self.pieces:
            return self
        moved = self.pieces[last].points[-1]
        pipe = Piece(whole.segments[-1], np.array([moved, moved]), np.zeros(2))
        return replace(self, pieces={**self.pieces, last + 1: pipe})


def variation(
    build: Callable[[float], Bore],
    value: float,
    *,
    key: str,
    label: str | None = None,
    unit: str = "mm",
    step: float = 1e-6,
    position: float | None = None,
) -> Dimension:
    """A dimension of a bore, from the function that builds the bore with any value of it.

    Parameters
    ----------
    build : callable
        Makes the bore from the dimension's value [SI]; a ValueError of it means that there is none.
    value : float
        The dimension's value in the bore whose derivative is wanted.
    key, label, unit, position
        See `Dimension`; the label is the key by default.
    step : float
        How far the dimension is changed either way [SI]; one way alone where the other has no bore,
        or one of other segments.

    Raises
    ------
    ValueError
        If the bore cannot be changed either way, or changes its number of segments.
    """
    base, sides = build(value), []
    for side in (value - step, value + step):
        try:
            there = build(side)
        except ValueError:
            there = None
        same = there is not None and _kinds(there) == _kinds(base)
        sides.append((side, there) if there is not None and same else (value, base))
    (low, smaller), (high, larger) = sides
    if low == high:
        raise ValueError(f"{key}: no bore near {value} has the same segments")
    pieces = {}
    for number, segment in enumerate(base.segments):
        first, last = smaller.segments[number], larger.segments[number]
        points = (last.points - first.points) / (high - low)
        weights = (last.weights - first.weights) / (high - low)
        if np.any(points) or np.any(weights):
            pieces[number] = Piece(segment, points, weights)
    return Dimension(key, label or key, unit, value, pieces, position)


def _kinds(bore: Bore) -> list[int]:
    return [segment.degree for segment in bore.segments]


def places_on_wall(bore: Bore, points: ArrayLike) -> Places:
    """The nearest place of the wall to each of some points, shape (2, n) [m].

    Raises
    ------
    ValueError
        If a point lies far from the wall.
    """
    wanted = np.asarray(points, float).T
    best, number = np.full(len(wanted), np.inf), np.full(len(wanted), -1)
    parameters = np.zeros(len(wanted))
    samples = np.linspace(0, 1, SAMPLES)
    for index, segment in enumerate(bore.segments):
        curve = segment(samples)
        low, high = curve.min(axis=0), curve.max(axis=0)
        room = ROOM * (high - low).max()
        near = np.flatnonzero(((wanted >= low - room) & (wanted <= high + room)).all(axis=1))
        if len(near):
            parameter, distance = nearest(segment, wanted[near])
            closer = distance < best[near]
            best[near[closer]], number[near[closer]] = distance[closer], index
            parameters[near[closer]] = parameter[closer]
    if (number < 0).any():
        raise ValueError(f"found a point {wanted[number < 0][0]} m far from the bore's wall")
    known = {
        (index, _drawn(segment)): parameters[number == index]
        for index, segment in enumerate(bore.segments)
    }
    return Places(wanted, number, known)


def nearest(
    segment: Segment, points: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Parameter of the nearest place on a segment to each point (n, 2), and the distance [m]."""
    at = np.zeros(len(points))
    if segment.degree > 1:  # on a line the first step below is exact
        samples = np.linspace(0, 1, SAMPLES)
        distances = np.linalg.norm(points[:, None] - segment(samples)[None], axis=2)
        at = samples[np.argmin(distances, axis=1)]
    for _ in range(SEARCH_STEPS):
        offset, along = points - segment(at), segment.derivative(at)
        before, at = at, at + (offset * along).sum(axis=1) / (along**2).sum(axis=1)
        at = np.clip(at, 0, 1)
        if np.abs(at - before).max(initial=0) < 1e-13:
            break
    return at, np.linalg.norm(points - segment(at), axis=1)


def _drawn(segment: Segment) -> bytes:
    """What is the same of segments drawn by the same points and weights."""
    return segment.points.tobytes() + segment.weights.tobytes()
