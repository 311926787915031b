r"""The air column after the shank: cylinders and cones in a chain, with exact wall losses.

Stations (position, diameter) are joined by straight lines.  A cylinder is one transmission line;
a cone is a chain of short spherical-wave slices with the losses of their mean radius
(:mod:`borestudy.closed_form.cone`).  Two stations at one position make a step, with the series
inertance of :mod:`borestudy.closed_form.area_step`.

A flare is treated as a chain of cones, each carrying spherical waves about its own apex, ending
in the radiation impedance of its mouth.  This one-dimensional chain is trusted below the
frequency at which the mouth's first axisymmetric higher mode cuts on (ka = 3.83) and while
ka < 2 / (1 + sin θ) with θ the mouth's half angle; the second is the stricter and is an argued
bound, not a measured one: beyond it the wave front bulges by more than about λ/6 against
the plane mouth on which the radiation impedance is defined.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from borestudy.air import Air
from borestudy.closed_form.area_step import end_correction
from borestudy.closed_form.cone import cone_transfer_matrix
from borestudy.closed_form.radiation import Flange, radiation_impedance
from borestudy.closed_form.tube import Complex, thermal_end_admittance, two_by_two

End = Literal["closed", "open unflanged", "open flanged"]
LARGEST_STEP = 1.5  # ratio of two diameters that still counts as one bore meeting another
LARGEST_DIAMETER_MM = 1000.0


@dataclass(frozen=True)
class AirColumn:
    """Stations along the column from the shank, and what is at its far end.

    Attributes
    ----------
    positions, radii : ndarray, shape (n_stations,)
        Axial position and radius of each station [m].
    end : {"closed", "open unflanged", "open flanged"}
        The far end.
    """

    positions: NDArray[np.float64]
    radii: NDArray[np.float64]
    end: End = "open unflanged"

    @property
    def length(self) -> float:
        """Distance from the first station to the last [m]."""
        return float(self.positions[-1] - self.positions[0])

    @property
    def mouth_half_angle(self) -> float:
        """Half angle of the last cone [rad]."""
        run = self.positions[-1] - self.positions[-2]
        return float(np.arctan2(self.radii[-1] - self.radii[-2], run))


def air_column(
    positions: NDArray[np.float64],
    radii: NDArray[np.float64],
    end: End = "open unflanged",
    name: str = "stations",
    lines: Sequence[int] = (),
) -> AirColumn:
    """Checked air column of positions and radii, from the shank on.

    Parameters
    ----------
    positions, radii : ndarray, shape (n_stations,)
        Stations from the shank on [m]; two at one position make a step.
    end : {"closed", "open unflanged", "open flanged"}
        The far end.
    name : str
        Name of the file, for messages.
    lines : sequence of int
        Line of that file which each station stands in.

    Raises
    ------
    ValueError
        Naming the station, what was found and what is allowed.
    """
    positions, radii = np.asarray(positions, dtype=float), np.asarray(radii, dtype=float)

    def at(index: int) -> str:
        place = f"line {lines[index]}" if lines else f"station {index + 1}"
        return f"air column {name}, {place}"

    backward = np.flatnonzero(np.diff(positions) < 0)
    if len(backward):
        station = backward[0] + 1
        raise ValueError(
            f"{at(station)}: found position {positions[station] * 1e3:g} mm after "
            f"{positions[station - 1] * 1e3:g} mm; allowed are ascending positions, for example "
            "0, 120, 240"
        )
    wrong = np.flatnonzero(~((radii > 0) & (2e3 * radii <= LARGEST_DIAMETER_MM)))
    if len(wrong):
        raise ValueError(
            f"{at(wrong[0])}: found a diameter of {radii[wrong[0]] * 2e3:g} mm; allowed is above 0 "
            f"and up to {LARGEST_DIAMETER_MM:g} mm (is it in another unit?), for example 11.5 mm"
        )
    if not positions[-1] > positions[0]:
        raise ValueError(
            f"air column {name}: found all stations at one position; allowed are two positions "
            "or more, for example 0,9.2 and 1300,11.5"
        )
    if positions[-2] == positions[-1]:
        raise ValueError(
            f"{at(len(positions) - 1)}: found a step at the last position; allowed are steps that "
            "something follows, for example 650,9.2 and 650,9.5 before 1300,11.5"
        )
    if end not in get_args(End):
        raise ValueError(
            f"air column {name}: found the end {end!r}; allowed is {', '.join(get_args(End))}, "
            "for example open unflanged"
        )
    return AirColumn(positions, radii, end)


def step_matrix(first_radius: float, second_radius: float, omega: NDArray, air: Air) -> Complex:
    """Chain matrix of a sudden change of section, shape (n_frequencies, 2, 2).

    Radii are in m, angular frequencies, of shape (n_frequencies,), in rad/s.
    """
    narrow, wide = sorted((first_radius, second_radius))
    inertance = air.density * end_correction(narrow / wide) * narrow / (np.pi * narrow**2)
    one, none = np.ones(len(omega), dtype=complex), np.zeros(len(omega), dtype=complex)
    return two_by_two(one, 1j * omega * inertance, none, one)


def chain_matrix(column: AirColumn, omega: NDArray, air: Air, lossless: bool = False) -> Complex:
    """Chain matrix of the whole column, shape (n_frequencies, 2, 2)."""
    omega = np.atleast_1d(omega)
    matrix = np.eye(2, dtype=complex)
    pieces = zip(np.diff(column.positions), column.radii, column.radii[1:], strict=False)
    for length, first, second in pieces:
        if length == 0:
            matrix = matrix @ step_matrix(first, second, omega, air)
        else:
            matrix = matrix @ cone_transfer_matrix(first, second, length, omega, air, lossless)
    return matrix


def end_state(column: AirColumn, omega: NDArray, air: Air, lossless: bool = False) -> Complex:
    """Pressure and outgoing flow at the far end, up to a factor, shape (n_frequencies, 2)."""
    radius = float(column.radii[-1])
    state = np.ones((len(omega), 2), dtype=complex)
    if column.end == "closed":
        state[:, 1] = 0.0 if lossless else thermal_end_admittance(radius, omega, air)
    else:
        flange: Flange = "flanged" if column.end == "open flanged" else "unflanged"
        state[:, 0] = radiation_impedance(radius, omega, air, flange)
    return state


def entrance_state(column: AirColumn, omega: NDArray, air: Air, lossless: bool = False) -> Complex:
    """Pressure and flow into the column's first station, up to a factor, (n_frequencies, 2)."""
    omega = np.atleast_1d(omega)
    state = end_state(column, omega, air, lossless)
    chained = chain_matrix(column, omega, air, lossless) @ state[:, :, None]
    return np.asarray(chained[:, :, 0])


def highest_trusted_frequency(column: AirColumn, air: Air) -> float:
    """Frequency [Hz] up to which the chain and its mouth are trusted; see the module."""
    if column.end == "closed":
        return float(3.83 * air.sound_speed / (2 * np.pi * column.radii.max()))
    limit = min(3.83, 2 / (1 + max(0.0, np.sin(column.mouth_half_angle))))
    return float(limit * air.sound_speed / (2 * np.pi * column.radii[-1]))
