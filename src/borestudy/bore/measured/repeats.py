"""Several readings at one position: the same diameter read again, or a step of the wall.

Two readings of one diameter differ by no more than both their errors.  Readings at one position
that lie within that of each other are repeated ones, whose mean is taken; two groups of them
further apart are a step.  A reading that stands alone beside repeated ones, and beyond them is not
where the wall goes on, is a slip.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError, millimetres
from borestudy.bore.measured.cells import refused
from borestudy.bore.measured.findings import Finding, listed, place

REPEATED, STEP = "repeated", "step"
_BY_HAND = "'same_position: repeated' or 'same_position: step' in the study's bore"


@dataclass(frozen=True)
class Station:
    """A diameter at a position, the mean of its readings, with the lines of each."""

    position: float
    values: tuple[float, ...]
    lines: tuple[int, ...]

    @property
    def diameter(self) -> float:
        """Mean of the readings [m]."""
        return self.values[0] if len(set(self.values)) == 1 else float(np.mean(self.values))


@dataclass(eq=False)
class Stations:
    """Stations from the rim plane on, what was found, and readings that were left out."""

    found: list[Station]
    findings: list[Finding] = field(default_factory=list)
    left_out: list[Station] = field(default_factory=list)


def stations_of(
    name: str,
    readings: NDArray[np.float64],
    lines: Sequence[int],
    error: float,
    same_position: str = "",
    outliers: str = "refuse",
) -> Stations:
    """Stations from readings in the order of the bore.

    Parameters
    ----------
    name : str
        The file's name.
    readings : ndarray, shape (n, 2) [m]
        Position and diameter from the rim plane on, positions that are one exactly equal.
    lines : sequence of int
        Line of each.
    error : float
        Of one reading of a diameter [m].
    same_position : {"", "repeated", "step"}
        What readings at one position are, by the study.
    outliers : {"refuse", "keep", "leave out"}
        What is done with a slip among repeated readings.

    Raises
    ------
    BoreError
        If readings at one position are neither repeated ones nor a step.
    """
    cuts = np.flatnonzero(np.diff(readings[:, 0])) + 1
    groups = [
        Station(float(readings[k[0], 0]), tuple(readings[k, 1].tolist()),
                tuple(int(lines[i]) for i in k))
        for k in np.split(np.arange(len(readings)), cuts)
    ]  # fmt: skip
    made = Stations([])
    for number, group in enumerate(groups):
        beside = _Beside(groups[max(number - 2, 0) : number], groups[number + 1 : number + 3])
        _take(name, group, error, same_position, outliers, beside, made)
    return made


@dataclass(frozen=True)
class _Beside:
    """The two positions before some readings, and the two behind, as far as there are."""

    before: list[Station]
    behind: list[Station]

    def suggest(self, sides: list[Station], lone: Station, error: float) -> bool:
        """Whether the wall goes on from one side of a step rather than from the other.

        Not if the other lies nearer to the line through the two positions on this side, or, read
        more often, on the line between the positions beside it.
        """
        number = sides.index(lone)
        other, position = sides[1 - number], lone.position
        if self.before and self.behind and len(other.values) > len(lone.values):
            a, b = self.before[-1], self.behind[0]
            chord = np.interp(position, (a.position, b.position), (a.diameter, b.diameter))
            if abs(other.diameter - chord) <= 2 * error:
                return False
        near = self.behind if number else self.before[::-1]
        if not near:
            return True
        line = near[0].diameter
        if len(near) > 1:
            slope = (near[1].diameter - line) / (near[1].position - near[0].position)
            line += slope * (position - near[0].position)
        return abs(lone.diameter - line) < abs(other.diameter - line)


def _take(
    name: str,
    group: Station,
    error: float,
    same_position: str,
    outliers: str,
    beside: _Beside,
    made: Stations,
) -> None:
    """Make one or two stations of the readings at a position."""
    if len(group.values) == 1:
        made.found.append(group)
        return
    spread, where = max(group.values) - min(group.values), millimetres(group.position)
    readings = ", ".join(f"{1e3 * value:.6g}" for value in group.values[:6])
    readings += " mm" if len(group.values) <= 6 else " … mm"
    limit = f"{millimetres(2 * error)} that two readings of one diameter may differ by"
    by_hand = ", as the study says" if same_position else ""
    if same_position == REPEATED or not spread or (not same_position and spread <= 2 * error):
        made.found.append(group)
        because = by_hand or f": no more apart than the {limit}"
        because = because if spread else ": they are the same"
        text = (f"{len(group.values)} readings at {where} ({readings}) taken as repeated{because}; "
                f"mean {millimetres(group.diameter)}")  # fmt: skip
        made.findings.append(Finding("repeated readings", group.lines, text))
        return
    sides = _two_sides(group)
    apart = [max(one.values) - min(one.values) for one in sides]
    if max(apart) > 2 * error:
        third = group.lines[2] if len(group.lines) > 2 else group.lines[-1]
        raise refused(
            f"{name}, line {third}",
            f"found a third station at {where} ({readings}); allowed are repeated readings within "
            f"the {limit}, or two diameters at one position, which make a step; or {_BY_HAND}",
            "10,16 and 10,3.66",
        )
    lone = min(sides, key=lambda one: len(one.values))
    alike = [one for one in sides if len(one.values) == len(lone.values)]
    suggested = any(beside.suggest(sides, one, error) for one in alike)
    if len(group.values) > 2 and len(lone.values) == 1 and not suggested and not same_position:
        rest = sides[1 - sides.index(lone)]
        text = (f"found a diameter of {millimetres(lone.diameter)} at {where}, where lines "
                f"{listed(rest.lines)} read {millimetres(rest.diameter)}")  # fmt: skip
        if outliers == "refuse":
            raise BoreError(
                "stations",
                f"{place(name, lone.lines)}: {text}; allowed is a reading like the others', or "
                "'outliers: leave out' or 'same_position: step' in the study's bore, for example "
                f"{1e3 * rest.diameter:.4g} mm there",
            )
        if outliers == "leave out":
            made.findings.append(Finding("left out", lone.lines, f"{text}; left out as a slip"))
            made.left_out.append(lone)
            made.found.append(rest)
            return
    made.found += sides
    because = by_hand or f": more apart than the {limit}"
    front, back = (millimetres(side.diameter) for side in sides)
    text = (f"{len(group.values)} readings at {where} ({readings}) taken as a step from {front} to "
            f"{back}{because}")  # fmt: skip
    made.findings.append(Finding("step", group.lines, text))
    if not suggested and not same_position:
        text = f"the wall beside the step at {where} does not go on from it: is one of them a slip?"
        made.findings.append(Finding("step not suggested", group.lines, text))


def _two_sides(group: Station) -> list[Station]:
    """The two groups of readings with the widest gap between them, that read first in front."""
    values = np.array(group.values)
    rising = np.sort(values)
    limit = rising[np.argmax(np.diff(rising))]
    below = values <= limit
    front = below if below[0] else ~below
    return [
        Station(group.position, tuple(values[side].tolist()),
                tuple(line for line, on in zip(group.lines, side, strict=True) if on))
        for side in (front, ~front)
    ]  # fmt: skip
