"""What a bore's dimensions do to its resonances, from the two-port that is solved already."""

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches

import numpy as np

from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.peak_slopes import peaks_with_slopes
from borestudy.acoustics.response import near_peaks
from borestudy.acoustics.result import ResonanceSlope
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.acoustics.uncertainty import levels_quantity
from borestudy.acoustics.walls import Real
from borestudy.bore import IN_SI
from borestudy.quantity import Quantity

#: What of a port a dimension changes.
OF_PORT = ("area", "edge_radius", "edge_curvature", "edge_weight", "surface", "edge")

#: What the reduced basis and the wall condition leave out of a slope, as a share of it.
SLOPE_SHARE = 1e-3
#: What the basis leaves out of the slopes in cents, of Q and of height, as shares of the largest by
#: a dimension of the same unit: the most that was seen against the full matrices, at stations.
BASIS_SHARES = (5e-6, 2e-4, 7e-4)


def changed(two_port: TwoPort, amounts: Mapping[str, float]) -> TwoPort:
    """The two-port of the bore with some dimensions larger, to first order in its matrices.

    Parameters
    ----------
    two_port : TwoPort
        Solved with its dimensions.
    amounts : mapping of str to float
        How much larger each dimension is, by its key [m, rad, or 1].

    Returns
    -------
    TwoPort
        With its own shank radius, so that a termination must be built for it; its derivatives are
        those of the bore as it was.

    Raises
    ------
    ValueError
        If the two-port has no derivative by one of them.
    """
    for key in amounts:
        if key not in two_port.dimensions:
            near = get_close_matches(key, two_port.dimensions, n=1)
            hint = f"did you mean {near[0]}? " if near else ""
            allowed = ", ".join(two_port.dimensions) or "none, as it was solved without dimensions"
            raise ValueError(f"dimension: found {key!r}; {hint}allowed is {allowed}")
    places = {key: two_port.dimensions.index(key) for key in amounts}
    models = []
    for model in two_port.models:
        operator = model.operator
        for key, amount in amounts.items():
            operator = added(operator, model.derivatives[places[key]], amount)
        models.append(replace(model, operator=operator))
    values = list(two_port.values)
    for key, amount in amounts.items():
        values[places[key]] += amount
    return replace(two_port, models=tuple(models), values=tuple(values))


def added(operator: AffineOperator, derivative: AffineOperator, amount: float) -> AffineOperator:
    """An operator and so much of a derivative of it."""
    pairs = zip(operator.matrices, derivative.matrices, strict=True)
    ports = zip(operator.ports, derivative.ports, strict=True)
    return replace(
        operator,
        matrices=tuple(matrix + amount * slope for matrix, slope in pairs),
        ports=tuple(_added_port(*each, amount) for each in ports),
        largest_curvature=operator.largest_curvature + amount * derivative.largest_curvature,
    )


def _added_port(port: Port, slope: Port, amount: float) -> Port:
    return replace(
        port, **{name: getattr(port, name) + amount * getattr(slope, name) for name in OF_PORT}
    )


def slopes_by_dimension(
    two_port: TwoPort, termination: Termination, figures: Real
) -> list[dict[str, ResonanceSlope]]:
    """What every dimension does to each resonance.

    Parameters
    ----------
    two_port : TwoPort
        Solved with its dimensions.
    termination : Termination
        What the shank end leads into.
    figures : ndarray, shape (n_levels, n_peaks, 3)
        Frequency [Hz], Q and height [Pa·s/m³] of each resonance on each mesh, NaN where there is
        none.

    Returns
    -------
    list of dict
        For each resonance the derivatives by the key of each dimension, per mm, degree or 1.
    """
    count = figures.shape[1]
    levels = np.full((len(figures), len(two_port.dimensions), count, 3), np.nan)
    for found, model, one in zip(levels, two_port.models, figures, strict=True):
        known = np.isfinite(one[:, 0])
        if known.any() and two_port.dimensions:
            end = near_peaks(
                termination, two_port.shank_radius, two_port.air, one[known, 0], one[known, 1]
            )
            found[:, known] = peaks_with_slopes(model, two_port, end, one[known]).slopes
    scale = np.array([IN_SI[unit] for unit in two_port.units])
    levels *= scale[:, None, None]
    units = ("cents", "", "Pa_s_per_m3")
    of_unit = [[other == unit for other in two_port.units] for unit in two_port.units]
    slopes = []
    for peak in range(count):
        by_dimension = {}
        for place, key in enumerate(two_port.dimensions):
            alike = np.abs(levels[-1, of_unit[place], peak]).max(axis=0)
            frequency, Q, height = (
                _with_floor(levels_quantity(values, unit, SLOPE_SHARE), share * largest)
                for values, unit, share, largest in zip(
                    levels[:, place, peak].T, units, BASIS_SHARES, alike, strict=True
                )
            )
            by_dimension[key] = ResonanceSlope(frequency=frequency, Q=Q, impedance_peak=height)
        slopes.append(by_dimension)
    return slopes


def _with_floor(slope: Quantity | None, error: float) -> Quantity | None:
    """A slope whose uncertainty has one more part."""
    if slope is None or slope.uncertainty is None:
        return slope
    return replace(slope, uncertainty=float(slope.uncertainty + error))
