"""A file of readings as a measured bore: its stations, their errors, and all that was found."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.bore.errors import BoreError, check_diameter, check_length, millimetres
from borestudy.bore.measured.cells import refused
from borestudy.bore.measured.errors import (
    READING,
    StationErrors,
    station_errors,
    with_position_errors,
)
from borestudy.bore.measured.findings import Finding, place
from borestudy.bore.measured.order import ordered
from borestudy.bore.measured.repeats import Station, Stations, stations_of
from borestudy.bore.measured.smoothing import Smoothed, smoothed
from borestudy.bore.measured.written import read_written
from borestudy.bore.readings import DOUBT, find_doubts, refuse_outliers, throat_stretch

#: Doubtful stations and notes of one kind that are told one by one.
TOLD = 5
#: Stations from which noise can be told, and how much of it beyond the error is worth telling.
ENOUGH, NOISY = 8, 2.0
#: Standard deviation of normally distributed noise over the median of its size.
FROM_MEDIAN = 1.4826


@dataclass(frozen=True)
class Reading:
    """What a study says of a file of readings where the file does not say it itself.

    Attributes
    ----------
    unit : {"", "mm", "in"}
        Unit of numbers without one.
    first : {"", "rim", "shank"}
        The end that the file begins at.
    same_position : {"", "repeated", "step"}
        What readings at one position are.
    outliers : {"refuse", "keep", "leave out"}
        What is done with slips.
    uncertainty : float, optional
        Error of one reading of a diameter, half-width at about 95 % [m].
    common_uncertainty : float
        Error that all diameters share, half-width at about 95 % [m].
    smoothing : float
        The most that smoothing may move a diameter by; 0 for no smoothing [m].
    position_uncertainty : float
        Error of one position, half-width at about 95 % [m].
    """

    unit: str = ""
    first: str = ""
    same_position: str = ""
    outliers: str = "refuse"
    uncertainty: float | None = None
    common_uncertainty: float = 0.0
    smoothing: float = 0.0
    position_uncertainty: float = 0.0

    @property
    def error(self) -> float:
        """Error of a reading by which repeated readings, slips and the throat are told [m]."""
        return READING if self.uncertainty is None else self.uncertainty


@dataclass(frozen=True, eq=False)
class Measurement:
    """A measured bore's stations, from the rim plane on.

    Attributes
    ----------
    name : str
        The file's name.
    stations : ndarray, shape (n, 2)
        Position and diameter that the bore is made from [m].
    as_read : tuple of Station
        The same with the readings of each, before any smoothing.
    throat : (int, int)
        First and last station of the throat.
    errors : StationErrors
        How far the diameters may be off.
    findings : tuple of Finding
        All that was found in the file and what was done about it.
    left_out : tuple of Station
        Readings that are in the file and not in the bore.
    smoothing : float
        The bound of smoothing, 0 without [m].
    """

    name: str
    stations: NDArray[np.float64]
    as_read: tuple[Station, ...]
    throat: tuple[int, int]
    errors: StationErrors
    findings: tuple[Finding, ...]
    left_out: tuple[Station, ...] = ()
    smoothing: float = 0.0
    doubtful: tuple[int, ...] = field(default=())

    @property
    def largest_deviation(self) -> float:
        """The most that smoothing moved a station's diameter by [m]."""
        read = np.array([one.diameter for one in self.as_read])
        return float(np.abs(self.stations[:, 1] - read).max())

    @property
    def told(self) -> list[str]:
        """Each finding as a line that names the file and its lines."""
        return [finding.told(self.name) for finding in self.findings]

    @property
    def cautions(self) -> list[str]:
        """Those that should be looked at before the bore is believed."""
        told = [finding.told(self.name) for finding in self.findings if finding.caution]
        more = len(told) - TOLD
        return told[:TOLD] + ([f"{self.name}: {more} more such findings"] if more > 0 else [])


def measure(path: Path | str, reading: Reading | None = None) -> Measurement:
    """Read a file of readings.

    Parameters
    ----------
    path : path
        A CSV file of positions and diameters, in any of the ways people write them.
    reading : Reading, optional
        What the file does not say itself.

    Raises
    ------
    BoreError
        Naming the line of the file, what was found and what is allowed.
    """
    path, reading = Path(path), reading or Reading()
    name = path.name
    written = read_written(path, reading.unit)
    inside = ordered(name, written.readings, written.lines, reading.first, written.counted_from)
    made = stations_of(name, inside.readings, inside.lines.tolist(), reading.error,
                       reading.same_position, reading.outliers)  # fmt: skip
    findings = [*written.findings, *inside.findings, *made.findings]
    _check(name, made.found)
    _leave_out_slips(made, reading, findings)
    stations = np.array([(one.position, one.diameter) for one in made.found])
    lines = [one.lines[0] for one in made.found]
    if reading.outliers != "keep":
        refuse_outliers(name, stations, lines, reading.error)
    doubts = find_doubts(stations, reading.error)
    errors = station_errors([one.values for one in made.found], reading.uncertainty,
                            reading.common_uncertainty, written.last_digit)  # fmt: skip
    findings += _noise(stations, errors)
    findings += [
        Finding("outlier" if doubt.outlier else "doubtful station", made.found[doubt.index].lines,
                f"{doubt}; taken as it is")
        for doubt in doubts
    ]  # fmt: skip
    throat = throat_stretch(stations, reading.error)
    if reading.smoothing:
        error = float(errors.independent_m.max())
        done = smoothed(stations, reading.smoothing, error, throat, DOUBT * reading.error)
        findings.append(_of_smoothing(done, reading.smoothing, made.found))
        stations = done.stations
        throat = throat_stretch(stations, reading.error)
    if reading.position_uncertainty:
        counts = np.array([len(one.values) for one in made.found])
        errors = with_position_errors(errors, stations, counts, reading.position_uncertainty)
    # What the whole file is about first, then line by line.
    findings.sort(key=lambda one: min(one.lines, default=0))
    return Measurement(
        name, stations, tuple(made.found), throat, errors, tuple(findings), tuple(made.left_out),
        reading.smoothing, tuple(doubt.index for doubt in doubts),
    )  # fmt: skip


def _check(name: str, stations: list[Station]) -> None:
    """Refuse steps at the ends, and sizes that must be in another unit."""
    for end, (first, last) in (("first", (0, 1)), ("last", (-2, -1))):
        if len(stations) > 1 and stations[first].position == stations[last].position:
            where = place(name, stations[last].lines)
            found = f"found a step at the {end} position; allowed are steps between the first and"
            raise refused(where, f"{found} the last position", "at 10 mm of 88 mm")
    where = f"{name}: overall length"
    try:
        check_length("", stations[-1].position)
        for one in stations:
            where = f"{place(name, one.lines)}: diameter"
            check_diameter("", one.diameter)
    except BoreError as problem:
        raise BoreError("stations", f"{where}: {problem}") from None


def _leave_out_slips(made: Stations, reading: Reading, findings: list[Finding]) -> None:
    """Take outliers out, the worst first, where the study says so."""
    while reading.outliers == "leave out":
        stations = np.array([(one.position, one.diameter) for one in made.found])
        worst = max(
            (doubt for doubt in find_doubts(stations, reading.error) if doubt.outlier),
            key=lambda doubt: doubt.excess,
            default=None,
        )
        if worst is None:
            return
        gone = made.found.pop(worst.index)
        made.left_out.append(gone)
        findings.append(Finding("left out", gone.lines, f"{worst}; left out as a slip"))


def _noise(stations: NDArray[np.float64], errors: StationErrors) -> list[Finding]:
    """How the stations scatter about a smooth wall, where there are enough of them to tell."""
    deviations = []
    for run in np.split(stations, np.flatnonzero(np.diff(stations[:, 0]) == 0) + 1):
        x, d = run.T
        for k in range(2, len(run) - 2):
            near = [k - 2, k - 1, k + 1, k + 2]
            weights = [
                np.prod([(x[k] - x[j]) / (x[i] - x[j]) for j in near if j != i]) for i in near
            ]
            # In units of one station's standard deviation.
            size = np.sqrt(1 + np.square(weights).sum())
            deviations.append((d[k] - weights @ d[near]) / size)
    if len(deviations) < ENOUGH:
        return []
    scatter = FROM_MEDIAN * float(np.median(np.abs(deviations)))
    stated = float(np.median(errors.independent_m))
    text = (f"the stations lie about a smooth wall with a standard deviation of about "
            f"{1e3 * scatter:.2g} mm, the wall's curvature between them included")  # fmt: skip
    if 2 * scatter > NOISY * stated:
        text += (f", more than the uncertainty of {1e3 * stated:.2g} mm (95 %, from "
                 f"{errors.source}) allows: is the wall rough, or that too small?")  # fmt: skip
        return [Finding("noise", (), text)]
    return [Finding("scatter", (), text)]


def _of_smoothing(done: Smoothed, bound: float, stations: list[Station]) -> Finding:
    """What smoothing did."""
    at = stations[done.where]
    text = (f"smoothed by no more than {millimetres(bound)}; the largest deviation from a station "
            f"is {1e3 * done.largest:.4f} mm, at {millimetres(at.position)}")  # fmt: skip
    return Finding("smoothing", at.lines if done.largest else (), text)
