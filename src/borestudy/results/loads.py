r"""What lips blow into, from a case's two-ports and its flow.

The bore is cut in the middle of its throat as in `borestudy.results.stream`: there the slope of
the steady pressure drop goes in as a resistance.  The halves have one mesh each; the whole bore
has several, and what it differs by from the joined halves is a correction on each of them, so that
every mesh says what it makes of the bore without resistance.
"""

from collections.abc import Callable, Sequence

import numpy as np

from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort, driven_at_rim, input_impedance, two_port_matrix
from borestudy.acoustics.walls import Complex, Real
from borestudy.playing.load import Load
from borestudy.playing.steady import SteadyDrop
from borestudy.results.estimate import WHOLE, EstimatedFlow

#: kPa·s/L in Pa·s/m³, L/s in m³/s.
RESISTANCE_UNIT, RATE_UNIT = 1e6, 1e-3
#: Steps that a grid begins with, and the share by which the mean of two neighbours at the end
#: differs at most from the impedance in their middle.
FIRST_STEPS, DEVIATION = 400, 1e-3
#: Halvings of the first steps at most: of 50 to 5000 Hz down to 0.01 Hz.
HALVINGS = 10


def frequency_grid(impedance: Callable[[Real], Complex], lowest: float, highest: float) -> Real:
    """Frequencies that lie close where an impedance changes fast.

    Parameters
    ----------
    impedance : callable
        Impedance at frequencies [Hz], shape (n,).
    lowest, highest : float [Hz]
        Ends of the grid.

    Returns
    -------
    ndarray, shape (n,)
        Rising frequencies [Hz]; the mean of the impedances at two neighbours is within `DEVIATION`
        of the impedance in their middle.
    """
    grid = np.linspace(lowest, highest, FIRST_STEPS + 1)
    values = impedance(grid)
    steps = np.ones(FIRST_STEPS, dtype=bool)
    for _ in range(HALVINGS):
        if not steps.any():
            break
        middles = (grid[:-1][steps] + grid[1:][steps]) / 2
        found = impedance(middles)
        means = (values[:-1][steps] + values[1:][steps]) / 2
        wide = np.abs(means / found - 1) > DEVIATION
        order = np.argsort(np.concatenate([grid, middles]))
        grid = np.concatenate([grid, middles])[order]
        values = np.concatenate([values, found])[order]
        # Both halves of a step that was wide are halved in the next round.
        halved = np.isin(grid, middles[wide])
        steps = halved[:-1] | halved[1:]
    return grid


def steady_drop(flow: EstimatedFlow, shift: float = 0.0) -> SteadyDrop:
    """The steady pressure drop at any rate, from the rates that were solved.

    Parameters
    ----------
    flow : EstimatedFlow
        The case's flow.
    shift : float
        By how many times its numerical uncertainty every pressure drop and slope is greater.

    Returns
    -------
    SteadyDrop
        None at any rate where no rate was solved.
    """
    found = [
        (RATE_UNIT * rate.flow_rate_L_per_s, drop, slope)
        for rate in flow.rates
        if (drop := rate.quantity(WHOLE)) is not None
        and (slope := rate.quantity("differential_resistance")) is not None
    ]
    if not found:
        return SteadyDrop.none()

    def shifted(value: float, uncertainty: float | None) -> float:
        return value + shift * (uncertainty or 0.0)

    rates, drops, slopes = zip(*found, strict=True)
    return SteadyDrop.of(
        rates,
        [shifted(one.value, one.uncertainty) for one in drops],
        [RESISTANCE_UNIT * shifted(one.value, one.uncertainty) for one in slopes],
    )


def bore_loads(
    halves: Sequence[TwoPort], whole: TwoPort, termination: Termination, steady: SteadyDrop,
    throat_diameter: float,
) -> tuple[Load, ...]:  # fmt: skip
    """What lips blow into, on each mesh of the whole bore.

    Parameters
    ----------
    halves : sequence of two TwoPort
        The bore from the rim plane to the cut, and from there to the shank end.
    whole : TwoPort
        The bore, not cut.
    termination : Termination
        What follows the shank end.
    steady : SteadyDrop
        Of the mouthpiece.
    throat_diameter : float [m]
        Diameter of the throat.

    Returns
    -------
    tuple of Load
        Coarsest first, all at the same frequencies; the finest mesh decides which.
    """
    front, back = halves

    def impedance(frequencies: Real) -> Complex:
        return input_impedance(whole, termination, frequencies)

    frequencies = frequency_grid(impedance, *whole.range_Hz)
    before = two_port_matrix(front, frequencies)
    behind, shank, _ = driven_at_rim(back, termination, frequencies)
    joined = before[:, 0, 0] - before[:, 0, 1] * before[:, 1, 0] / (before[:, 1, 1] + behind)
    return tuple(
        Load(
            frequencies=frequencies,
            front=before,
            behind=behind,
            to_shank=shank / behind,
            correction=input_impedance(whole, termination, frequencies, level) - joined,
            steady=steady,
            throat_diameter=throat_diameter,
            density=whole.air.density,
        )
        for level in whole.levels
    )
