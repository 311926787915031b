"""Terminations of the shank end, as the pressure and outgoing flow that each allows there.

A termination is a ratio p : U at the shank end.  Keeping both, instead of an impedance, lets a
rigid wall (U = 0) and a pressure node (p = 0) be two terminations like any other.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.walls import Complex
from borestudy.air import Air
from borestudy.bore.errors import BoreError
from borestudy.bore.table import read_stations
from borestudy.closed_form import air_column as columns
from borestudy.closed_form.air_column import AirColumn
from borestudy.closed_form.cavity import cut_on_frequencies
from borestudy.closed_form.radiation import HIGHEST_KA, Flange, radiation_impedance
from borestudy.closed_form.tube import characteristic_impedance, thermal_end_admittance

logger = logging.getLogger(__name__)

Kind = Literal[
    "closed", "open", "open unflanged", "open flanged", "anechoic pipe", "air column",
    "pressure node",
]  # fmt: skip
Ratio = tuple[complex | NDArray, complex | NDArray]
SAME_RADIUS = 1e-3
#: Mesh levels and searches for peaks ask an air column for the same frequencies again and again:
#: its answers are kept, up to so many.
KEPT_ANSWERS = 100_000


@dataclass(frozen=True)
class Termination:
    """What the shank end leads into."""

    #: One of `Kind`; an air column's with the kind of its far end.
    kind: str
    #: Pressure and flow out of the shank, up to a common factor, each a number or of shape
    #: (n_frequencies,), at angular frequencies.
    ratio: Callable[[NDArray, Air], Ratio]
    #: Frequency [Hz] above which the termination's one-dimensional model no longer holds.
    trusted_below: Callable[[Air], float]
    #: What a reader must be told (a step of diameter, say); empty otherwise.
    note: str = ""
    #: The same at a shank end of another radius [m]; None where the radius does not matter.
    rebuilt: Callable[[float], "Termination"] | None = None

    def at(self, radius: float) -> "Termination":
        """The same at a shank end of another radius [m]; an air column keeps its own."""
        return self if self.rebuilt is None else self.rebuilt(radius)

    def state(self, omega: NDArray, air: Air) -> Complex:
        """Pressure and flow as an array, shape (n_frequencies, 2)."""
        pressure, outflow, _ = np.broadcast_arrays(*self.ratio(omega, air), omega)
        return np.column_stack([pressure, outflow]).astype(complex)

    def inflow(self, matrix: NDArray, omega: NDArray, air: Air) -> Complex:
        """Flow into the bore at the shank for unit flow at the rim, by the impedance matrix."""
        pressure, outflow = self.ratio(omega, air)
        return np.asarray(-matrix[:, 1, 0] * outflow / (pressure + matrix[:, 1, 1] * outflow))


def build_termination(
    kind: str, radius: float, walls: str = "curved", column: AirColumn | Path | str | None = None
) -> Termination:
    """The termination called ``kind`` for a shank end of ``radius`` [m].

    Parameters
    ----------
    kind : str
        "closed" (rigid end wall with its thermal loss), "open" or "open unflanged", "open
        flanged" (radiating), "anechoic pipe" (the shank's section without end: no reflection),
        "air column" (``column``), "pressure node" (p = 0, for comparison with closed forms).
    radius : float [m]
        Radius of the shank end.
    walls : str
        The bore's wall model; "lossless" makes the termination lossless too.
    column : AirColumn or path, optional
        The column or the file of its stations, for "air column" only.

    Raises
    ------
    ValueError
        If a word is unknown, or a column is missing or does not meet the shank.
    """
    lossless = walls == "lossless"

    def plane_waves_below(air: Air) -> float:
        return cut_on_frequencies(radius, air.sound_speed)[1]

    def radiation_below(air: Air) -> float:
        return HIGHEST_KA * air.sound_speed / (2 * np.pi * radius)

    def end(omega: NDArray, air: Air) -> Ratio:
        return 1.0, 0.0 if lossless else thermal_end_admittance(radius, omega, air)

    def pipe(omega: NDArray, air: Air) -> Ratio:
        return characteristic_impedance(radius, omega, air, lossless), 1.0

    def radiation(omega: NDArray, air: Air) -> Ratio:
        flange: Flange = "flanged" if kind == "open flanged" else "unflanged"
        return radiation_impedance(radius, omega, air, flange), 1.0

    def rebuilt(other: float) -> Termination:
        return build_termination(kind, other, walls)

    match kind:
        case "closed":
            return Termination(kind, end, plane_waves_below, rebuilt=rebuilt)
        case "pressure node":
            return Termination(kind, lambda omega, air: (0.0, 1.0), lambda air: np.inf)
        case "anechoic pipe":
            return Termination(kind, pipe, plane_waves_below, rebuilt=rebuilt)
        case "open" | "open unflanged" | "open flanged":
            return Termination(kind, radiation, radiation_below, rebuilt=rebuilt)
        case "air column":
            if column is None:
                raise ValueError(
                    "termination: found 'air column' without its file of stations; allowed is an "
                    "air column with one, for example {'air column': 'column.csv'}"
                )
            found = column if isinstance(column, AirColumn) else read_air_column(column)
            return _air_column(found, radius, lossless)
    plain = (word for word in get_args(Kind) if word not in ("air column", "pressure node"))
    raise ValueError(
        f"termination: found {kind!r}; allowed is {', '.join(plain)} or an air column with its "
        "file of stations, for example open"
    )


def _air_column(column: AirColumn, radius: float, lossless: bool) -> Termination:
    """The column, after a step where its first diameter is not the shank's."""
    first = float(column.radii[0])
    ratio = max(first, radius) / min(first, radius)
    if ratio > columns.LARGEST_STEP:
        raise ValueError(
            f"air column: starts with {2e3 * first:.3g} mm where the shank ends with "
            f"{2e3 * radius:.3g} mm; a ratio of diameters up to {columns.LARGEST_STEP} is taken "
            "as a step, more is taken as a mistake (example: start the stations at the shank's "
            "bore)"
        )

    answers: dict[Air, dict[float, Complex]] = {}

    def entrance(omega: NDArray, air: Air) -> Complex:
        known = answers.setdefault(air, {})
        if len(known) > KEPT_ANSWERS:
            known.clear()
        asked = np.atleast_1d(np.asarray(omega, dtype=float)).tolist()
        if missing := [one for one in dict.fromkeys(asked) if one not in known]:
            states = columns.entrance_state(column, np.array(missing), air, lossless)
            known.update(zip(missing, states, strict=True))
        return np.array([known[one] for one in asked])

    def joined(shank: float) -> Termination:
        step = abs(np.log(shank / first)) > np.log1p(SAME_RADIUS)

        def ratio(omega: NDArray, air: Air) -> Ratio:
            found = entrance(omega, air)
            if step:
                chain = columns.step_matrix(shank, first, np.asarray(omega), air)
                found = (chain @ found[:, :, None])[:, :, 0]
            return found[:, 0], found[:, 1]

        note = ""
        if step:
            end, start = (f"{2e3 * each:.3f} mm" for each in (shank, first))
            note = f"step from the shank's {end} to the air column's {start}"
        return Termination(
            f"air column, {column.end}",
            ratio,
            lambda air: columns.highest_trusted_frequency(column, air),
            note,
            joined,
        )

    found = joined(radius)
    if found.note:
        logger.info("air column: %s, kept as a step", found.note)
    return found


def read_air_column(path: Path | str, end: columns.End = "open unflanged") -> AirColumn:
    """An air column and its far end, from a CSV of stations that is read as a measured bore's.

    Raises
    ------
    ValueError
        Naming the line, what was found and what is allowed.
    """
    path = Path(path)
    try:
        stations, lines = read_stations(path)
    except BoreError as problem:
        raise ValueError(f"air column {problem}") from None
    return columns.air_column(stations[:, 0], stations[:, 1] / 2, end, path.name, lines)


def frequency_cautions(
    highest: float, widest_radius: float, termination: Termination, air: Air
) -> list[str]:
    """Which of the models of bore and termination do not hold up to ``highest`` [Hz], in words."""
    sideways, _ = cut_on_frequencies(widest_radius, air.sound_speed)
    trusted = termination.trusted_below(air)
    cautions = []
    if highest > sideways:
        cautions.append(
            f"above {sideways:.0f} Hz the widest part carries a non-axisymmetric mode that an "
            "axisymmetric model cannot show"
        )
    if highest > trusted:
        cautions.append(
            f"above {trusted:.0f} Hz plane or spherical waves behind the shank are no longer a "
            "good model"
        )
    return cautions
