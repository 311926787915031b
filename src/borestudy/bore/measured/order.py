"""Readings in the order of the bore: passes from end to end, and which end is the rim."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import millimetres
from borestudy.bore.measured.cells import refused
from borestudy.bore.measured.findings import Finding

#: Positions nearer than this are one position [m].
SAME = 1e-8
#: Ends that differ by less, and a throat that is nearer to the middle, say nothing of the rim.
ALIKE = 0.05


@dataclass(frozen=True, eq=False)
class Ordered:
    """Readings from the rim plane on, shape (n, 2) [m], each with its line; and what was found."""

    readings: NDArray[np.float64]
    lines: NDArray[np.int_]
    findings: tuple[Finding, ...]


def ordered(
    name: str,
    readings: NDArray[np.float64],
    lines: Sequence[int],
    first: str = "",
    counted_from: str = "",
) -> Ordered:
    """Readings from the rim plane on, positions counted from it.

    Parameters
    ----------
    name : str
        The file's name.
    readings : ndarray, shape (n, 2) [m]
        Position and diameter in the file's order.
    lines : sequence of int
        Line of each.
    first : {"", "rim", "shank"}
        The end that the file begins at, by the study.
    counted_from : {"", "rim", "shank"}
        The end that positions are counted from, by the file.

    Raises
    ------
    BoreError
        If positions go back, and not as the readings of another pass.
    """
    numbers = np.asarray(lines)
    passes = _passes(name, readings[:, 0], lines)
    found = []
    if len(passes) > 1:
        text = f"{len(passes)} passes from end to end, put together by their positions"
        found.append(Finding("passes", tuple(int(numbers[one.start]) for one in passes), text))
    # Each pass from the lowest position on; those of one position stay in its order.
    rising = [_rising(readings[one, 0]) for one in passes]
    order = np.concatenate([
        np.arange(one.start, one.stop)[:: 1 if up else -1]
        for one, up in zip(passes, rising, strict=True)
    ])  # fmt: skip
    one_position = np.column_stack([_same(readings[:, 0]), readings[:, 1]])
    order = order[np.argsort(one_position[order, 0], kind="stable")]
    inside, numbers = one_position[order], numbers[order]
    low_is_rim, why = _rim(inside, rising[0], first, counted_from)
    if why:
        found.append(Finding("direction", (), why))
    if not low_is_rim:
        inside, numbers = inside[::-1].copy(), numbers[::-1]
        inside[:, 0] = inside[0, 0] - inside[:, 0]
    elif inside[0, 0] != 0:
        text = f"positions begin at {millimetres(inside[0, 0])}; they are counted from there"
        found.append(Finding("first position", (int(numbers[0]),), text))
        inside = inside - [inside[0, 0], 0.0]
    return Ordered(inside, numbers, tuple(found))


def _same(positions: NDArray[np.float64]) -> NDArray[np.float64]:
    """Positions, those that are one made equal to the lowest of them."""
    order = np.argsort(positions, kind="stable")
    made = positions.copy()
    for before, after in pairwise(order):
        if positions[after] - made[before] < SAME:
            made[after] = made[before]
    return made


def _rising(positions: NDArray[np.float64]) -> bool:
    return bool(positions[-1] >= positions[0])


def _passes(name: str, positions: NDArray[np.float64], lines: Sequence[int]) -> list[slice]:
    """Stretches of lines along which positions go one way.

    A further one is another pass if at least half of its positions have been read before; else
    a line is out of its place.
    """
    cuts, way = [0], 0.0
    for k in range(1, len(positions)):
        step = positions[k] - positions[k - 1]
        step = 0.0 if abs(step) < SAME else np.sign(step)
        if way and step and step != way:
            cuts.append(k)
            way = 0.0
        else:
            way = way or step
    passes = [slice(a, b) for a, b in zip(cuts, [*cuts[1:], len(positions)], strict=True)]
    for one in passes[1:]:
        before = positions[: one.start]
        known = [bool((np.abs(before - x) < SAME).any()) for x in positions[one]]
        if len(known) < 2 or 2 * sum(known) < len(known):
            found, last = positions[one.start], positions[one.start - 1]
            rises = _rising(positions[passes[0]])
            raise refused(
                f"{name}, line {lines[one.start]}",
                f"found position {millimetres(found)} after {millimetres(last)}; allowed are "
                f"{'ascending' if rises else 'descending'} positions as in the lines before, or "
                "the same positions read again",
                "0, 1.5, 3.0" if rises else "3.0, 1.5, 0",
            )
    return passes


def _rim(
    inside: NDArray[np.float64], rising: bool, first: str, counted_from: str
) -> tuple[bool, str]:
    """Whether the lowest position is the rim plane, and how that is known, where that is to say."""
    begins = "lowest" if rising else "highest"
    if first:
        low = (first == "rim") == rising
        return low, "" if low else f"the file begins at the {first}, as the study says"
    if counted_from:
        low = counted_from == "rim"
        return low, "" if low else "positions are counted from the shank end, as their column says"
    (low_end, high_end), (x0, x1) = inside[[0, -1], 1], inside[[0, -1], 0]
    narrow = inside[inside[:, 1] <= 1.01 * inside[:, 1].min(), 0]
    place = ((narrow.min() + narrow.max()) / 2 - x0) / max(x1 - x0, SAME)
    wider = 0 if abs(low_end - high_end) <= ALIKE * max(low_end, high_end) else (
        1 if low_end > high_end else -1)  # fmt: skip
    nearer = 0 if abs(place - 0.5) <= ALIKE else 1 if place < 0.5 else -1
    votes = wider + nearer
    low = votes > 0 if votes else rising
    ends = sorted((low_end, high_end), reverse=True)
    reasons = [
        f"wider than the other end ({millimetres(ends[0])}, {millimetres(ends[1])})"
        if wider == (1 if low else -1) else "",
        "nearer to the throat" if nearer == (1 if low else -1) else "",
    ]  # fmt: skip
    why = " and ".join(reason for reason in reasons if reason)
    if low and rising:
        return True, ""
    end = "first" if low == rising else "last"
    counted = "" if low else "; positions are counted from the shank end"
    because = f", which is {why}" if why else f", since neither end says otherwise ({begins} first)"
    return low, f"the rim plane is at the {end} line{because}{counted}"
