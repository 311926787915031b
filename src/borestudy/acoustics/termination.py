"""What is behind the shank, as the pressure and outgoing flow it allows there.

A termination is a ratio p : U at the shank end.  Keeping both, instead of an impedance, lets a
rigid wall (U = 0) and a pressure node (p = 0) be two terminations like any other.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.closed_form.air_column import (
    LARGEST_STEP,
    AirColumn,
    entrance_state,
    highest_trusted_frequency,
    step_matrix,
)
from borestudy.closed_form.cavity import cut_on_frequencies
from borestudy.closed_form.radiation import HIGHEST_KA, Flange, radiation_impedance
from borestudy.closed_form.tube import characteristic_impedance, thermal_end_admittance

logger = logging.getLogger(__name__)

Kind = Literal[
    "closed", "open", "open unflanged", "open flanged", "anechoic pipe", "air column",
    "pressure node",
]  # fmt: skip
SAME_RADIUS = 1e-3
KEPT_ANSWERS = 8


@dataclass(frozen=True)
class Behind:
    """A termination of the shank end.

    Attributes
    ----------
    kind : str
    state : callable
        ``state(omega, air)``: pressure and flow out of the shank, up to a common factor,
        shape (n_frequencies, 2).
    trusted_below : callable
        ``trusted_below(air)``: frequency [Hz] above which the one-dimensional model of what is
        behind the shank no longer holds.
    note : str
        What a reader must be told (a step of diameter, say); empty otherwise.
    """

    kind: str
    state: Callable[[NDArray, Air], NDArray[np.complex128]]
    trusted_below: Callable[[Air], float]
    note: str = ""


def termination(
    kind: Kind, radius: float, walls: Walls = "curved", column: AirColumn | None = None
) -> Behind:
    """The termination called ``kind`` for a shank end of ``radius`` [m].

    Parameters
    ----------
    kind : str
        "closed" (rigid end wall with its thermal loss), "open" or "open unflanged", "open
        flanged" (radiating), "anechoic pipe" (the shank's section goes on for ever), "air column"
        (``column``), "pressure node" (p = 0, for comparison with closed forms).
    radius : float [m]
        Of the shank end.
    walls : str
        The wall model of the bore; "lossless" makes what is behind lossless too.
    column : AirColumn
        For "air column" only.

    Raises
    ------
    ValueError
        For an unknown word, a missing column or one that does not meet the shank.
    """
    lossless = walls == "lossless"
    if kind == "air column":
        if column is None:
            raise ValueError("behind: 'air column' needs a station file (example: column.csv)")
        return _air_column(column, radius, lossless)
    if kind == "closed":
        return Behind(kind, lambda omega, air: _pair(
            1.0, 0.0 if lossless else thermal_end_admittance(radius, omega, air), omega
        ), lambda air: cut_on_frequencies(radius, air.sound_speed)[1])  # fmt: skip
    if kind == "pressure node":
        return Behind(kind, lambda omega, air: _pair(0.0, 1.0, omega), lambda air: np.inf)
    if kind == "anechoic pipe":
        return Behind(kind, lambda omega, air: _pair(
            characteristic_impedance(radius, omega, air, lossless), 1.0, omega
        ), lambda air: cut_on_frequencies(radius, air.sound_speed)[1])  # fmt: skip
    if kind in ("open", "open unflanged", "open flanged"):
        flange: Flange = "flanged" if kind == "open flanged" else "unflanged"
        return Behind(kind, lambda omega, air: _pair(
            radiation_impedance(radius, omega, air, flange), 1.0, omega
        ), lambda air: HIGHEST_KA * air.sound_speed / (2 * np.pi * radius))  # fmt: skip
    allowed = ", ".join(word for word in get_args(Kind) if word != "pressure node")
    raise ValueError(f"behind must be one of {allowed}; found '{kind}' (example: anechoic pipe)")


def _pair(pressure: complex | NDArray, flow: complex | NDArray, omega: NDArray) -> NDArray:
    state = np.empty((len(omega), 2), dtype=complex)
    state[:, 0], state[:, 1] = pressure, flow
    return state


def _air_column(column: AirColumn, radius: float, lossless: bool) -> Behind:
    """The column, behind a step where its first diameter is not the shank's."""
    first = float(column.radii[0])
    ratio = max(first, radius) / min(first, radius)
    if ratio > LARGEST_STEP:
        raise ValueError(
            f"air column: starts with {2e3 * first:.3g} mm where the shank ends with "
            f"{2e3 * radius:.3g} mm; a ratio of diameters up to {LARGEST_STEP} is taken as a "
            "step, more is taken as a mistake (example: start the stations at the shank's bore)"
        )
    note = ""
    if ratio > 1 + SAME_RADIUS:
        note = (
            f"step from the shank's {2e3 * radius:.3f} mm to the air column's {2e3 * first:.3f} mm"
        )
        logger.info("air column: %s, kept as a step", note)

    # every mesh level asks for the same frequencies: the last few answers are kept
    kept: dict[tuple[bytes, Air], NDArray[np.complex128]] = {}

    def state(omega: NDArray, air: Air) -> NDArray[np.complex128]:
        key = (np.asarray(omega).tobytes(), air)
        if key not in kept:
            while len(kept) >= KEPT_ANSWERS:
                kept.pop(next(iter(kept)))
            entrance = entrance_state(column, omega, air, lossless)
            if note:
                step = step_matrix(radius, first, omega, air)
                entrance = (step @ entrance[:, :, None])[:, :, 0]
            kept[key] = np.asarray(entrance)
        return kept[key]

    return Behind(
        f"air column, {column.end}", state, lambda air: highest_trusted_frequency(column, air), note
    )
