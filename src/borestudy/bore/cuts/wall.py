"""The wall as a radius over the axis, and how much metal one wall has that another has not."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.segment import Segment

#: Joints nearer than this are one [m]: rounding of control points is far below.
JOINT = 1e-12
#: Places of a curve, its ends among them, at which two walls are compared.
PLACES = np.linspace(0, 1, 65)
#: Control points are evenly spaced along the axis to rounding.
EVEN = 1e-12
NEWTON_STEPS = 40


def radii(
    segments: Sequence[Segment], x: NDArray[np.float64], *, before: bool = False
) -> NDArray[np.float64]:
    """Radius at ascending positions inside the wall, shape (n,) [m].

    At a step it is the one after it, or the one before it if asked for.
    """
    found = np.full(len(x), np.nan)
    for segment in segments if not before else reversed(segments):
        if segment.is_step:
            continue
        ends = segment.start[0] - JOINT, segment.stop[0] + JOINT
        inside = slice(np.searchsorted(x, ends[0]), np.searchsorted(x, ends[1], "right"))
        if inside.stop > inside.start:
            found[inside] = segment(parameters(segment, x[inside]))[:, 1]
    return found


def parameters(segment: Segment, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Parameters (n,) at which a segment that is no step passes positions [m], kept inside it."""
    first, last = segment.start[0], segment.stop[0]
    at = np.clip((x - first) / (last - first), 0.0, 1.0)
    steps = np.diff(segment.points[:, 0])
    if np.ptp(steps) <= EVEN * steps.max() and np.ptp(segment.weights) == 0:
        return np.asarray(at)  # x is linear in the parameter
    low, high = np.zeros(len(at)), np.ones(len(at))
    for _ in range(NEWTON_STEPS):
        off = segment(at)[:, 0] - x
        low, high = np.where(off < 0, at, low), np.where(off > 0, at, high)
        slope = segment.derivative(at)[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            step = at - off / slope
        # Bisection where Newton's step leaves what brackets the place.
        step = np.where((step >= low) & (step <= high), step, (low + high) / 2)
        if np.abs(step - at).max(initial=0) < 1e-15:
            break
        at = step
    return np.asarray(at)


def added_metal(old: Sequence[Segment], new: Sequence[Segment]) -> tuple[float, float]:
    """How far a new wall stands inside an old one at most, and where [m].

    Both are compared, before and after each step, at the joints of both and at places of their
    curves, as far as both reach.  The first is zero where no metal is added.
    """
    end = min(old[-1].stop[0], new[-1].stop[0])
    places = [
        one(PLACES)[:, 0] if one.degree > 1 else one.points[:, 0]
        for wall in (old, new)
        for one in wall
    ]
    x = np.unique(np.concatenate(places))
    x = x[x <= end]
    depth = np.maximum(
        radii(old, x) - radii(new, x),
        radii(old, x, before=True) - radii(new, x, before=True),
    )
    worst = int(np.argmax(depth))
    return max(float(depth[worst]), 0.0), float(x[worst])


def joined(segments: Sequence[Segment]) -> list[Segment]:
    """The segments without those of no length, and lines along one cylinder made one line."""
    kept: list[Segment] = []
    for segment in segments:
        if np.abs(segment.stop - segment.start).max() <= JOINT:
            continue
        if kept and _one_cylinder(kept[-1], segment):
            whole = np.array([kept[-1].start, segment.stop])
            kept[-1] = Segment(whole, np.ones(2), segment.part)
        else:
            kept.append(segment)
    # Each begins exactly where the last stops, also where one of no length stood between, and a
    # step is upright whatever rounding has made of it.
    found: list[Segment] = []
    for segment in kept:
        points = segment.points.copy()
        points[0] = found[-1].stop if found else points[0]
        if np.ptp(points[:, 0]) <= JOINT:
            points[:, 0] = points[0, 0]
        found.append(replace(segment, points=points))
    return found


def _one_cylinder(first: Segment, second: Segment) -> bool:
    return (
        first.part == second.part
        and first.degree == second.degree == 1
        and first.start[1] == first.stop[1] == second.start[1] == second.stop[1]
    )
