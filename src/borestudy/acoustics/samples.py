r"""Resonances found anew in each of many bores that differ a little, from one two-port.

Round a peak of :math:`|Z|` the admittance :math:`Y = 1/Z` is smooth: a polynomial through its
values at a few Chebyshev points of the frequency axis is as good as the admittance itself, and its
least magnitude is the peak.  The complex resonance, which has the Q, lies off that axis; it is a
pole of the rational function in barycentric form through some of the points that comes nearest to
the others (the AAA algorithm with given support points: Nakatsukasa, Sète & Trefethen 2018, SIAM
J. Sci. Comput. 40, A1494).  Both are what `borestudy.acoustics.resonances` takes them for, for some
dozen small solves a peak instead of thousands.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike, NDArray

from borestudy.acoustics.sensitivity import changed
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.acoustics.walls import Complex, Real

#: Points in frequency round a peak, of which every third is a support point, and steps of
#: Newton's method.
NODES, SUPPORT, STEPS = 21, slice(1, None, 3), 12
#: Half bandwidths that the points reach to either side of a peak at first, and at most the share
#: of its frequency that they do.
REACH, FARTHEST = 1.0, 0.45
#: How often points that a peak has left are spread twice as wide.
WIDENED = 4


def sampled_peaks(
    two_port: TwoPort,
    termination: Termination,
    keys: Sequence[str],
    amounts: ArrayLike,
    peaks: ArrayLike,
) -> Real:
    """Frequency [Hz], Q and height [Pa·s/m³] of peaks in bores that differ a little.

    Parameters
    ----------
    two_port : TwoPort
        Solved with its dimensions; its finest mesh is used.
    termination : Termination
        What follows the shank end; it is rebuilt at the radius that each bore has.
    keys : sequence of str
        Dimensions.
    amounts : array_like, shape (n_bores, n_keys)
        How much larger each dimension is in each bore [SI].
    peaks : array_like, shape (n_peaks, 2)
        Frequency [Hz] and Q of each peak in the bore as it is.

    Returns
    -------
    ndarray, shape (n_bores, n_peaks, 3)
        NaN where a peak is not found near to where it was.
    """
    finest = replace(two_port, models=two_port.models[-1:])
    known = np.asarray(peaks, dtype=float).reshape(-1, 2)
    bores = []
    for row in np.atleast_2d(np.asarray(amounts, dtype=float)):
        other = changed(finest, dict(zip(keys, row.tolist(), strict=True)))
        bores.append((other, termination.at(other.shank_radius)))
    found = np.full((len(bores), len(known), 3), np.nan)
    half = np.minimum(REACH / (2 * known[:, 1]), FARTHEST)
    sought = np.flatnonzero(np.isfinite(half) & (half > 0))
    for _ in range(WIDENED):
        if len(sought) == 0:
            break
        frequency = known[sought, 0]
        low, high = (frequency * (1 + side * half[sought]) for side in (-1, 1))
        ends = np.clip([low, high], *two_port.range_Hz)
        nodes = ends.mean(axis=0)[:, None] + np.diff(ends, axis=0).T / 2 * chebyshev.chebpts1(NODES)
        curves = np.stack([input_impedance(*each, nodes.ravel()) for each in bores])
        curves = curves.reshape(len(bores), *nodes.shape)
        for place, number in enumerate(sought):
            found[:, number] = _near(nodes[place], curves[:, place], *known[number])
        lost = ~np.isfinite(found[:, sought]).all(axis=(0, 2))
        sought = sought[lost & (half[sought] < FARTHEST)]
        half = np.minimum(2 * half, FARTHEST)
    return found


def _near(nodes: Real, impedance: Complex, frequency: float, quality: float) -> Real:
    """Frequency, Q and height, shape (n_bores, 3), from impedances (n_bores, n_nodes)."""
    middle, half = (nodes[0] + nodes[-1]) / 2, (nodes[-1] - nodes[0]) / 2
    places = (nodes - middle) / half
    place, height = _highest(places, impedance, (frequency - middle) / half)
    start = (frequency * (1 + 0.5j / quality) - middle) / half
    pole = middle + half * _pole(places, impedance, start)
    found = np.column_stack([middle + half * place, pole.real / (2 * pole.imag), height])
    # of peaks that overlap, the pole may lie to the side by as much as it lies off the axis
    inside = (np.abs(place) < 1) & (np.abs(pole.real - frequency) < 2 * half) & (pole.imag > 0)
    found[~inside | ~np.isfinite(found).all(axis=1)] = np.nan
    return found


def _highest(places: Real, impedance: Complex, start: float) -> tuple[Real, Real]:
    """Where the polynomial of the admittance is least, and the impedance there, (n_bores,)."""
    weights = np.linalg.inv(chebyshev.chebvander(places, len(places) - 1)).T
    curves = [(1 / impedance) @ weights]
    for _ in range(2):
        curves.append(chebyshev.chebder(curves[-1], axis=1))

    def at(order: int) -> Complex:
        rows = chebyshev.chebvander(place, curves[order].shape[1] - 1)
        return np.asarray((rows * curves[order]).sum(axis=1))

    place = np.full(len(impedance), start)
    for _ in range(STEPS):
        value, slope, bend = at(0), at(1), at(2)
        rise = (value.conj() * slope).real
        place = np.clip(place - rise / (np.abs(slope) ** 2 + (value.conj() * bend).real), -1, 1)
    return place, 1 / np.abs(at(0))


def _pole(places: Real, impedance: Complex, start: complex) -> Complex:
    """The pole of the rational function beside a start, shape (n_bores,)."""
    support = places[SUPPORT]
    others = np.delete(np.arange(len(places)), np.arange(len(places))[SUPPORT])
    values = impedance / np.abs(impedance).max(axis=1, keepdims=True)
    differences = values[:, others, None] - values[:, None, SUPPORT]
    loewner = differences / (places[others, None] - support)
    weights: NDArray = np.linalg.svd(loewner)[2][:, -1].conj()
    pole = np.full(len(impedance), start)
    for _ in range(STEPS):  # on one over the function, which is nearly a straight line there
        apart = pole[:, None] - support
        below, above = weights / apart, weights * values[:, SUPPORT] / apart
        (denominator, numerator), slopes = (
            [each.sum(axis=1) for each in pair]
            for pair in ((below, above), (-below / apart, -above / apart))
        )
        turned = slopes[0] * numerator - denominator * slopes[1]
        pole = pole - denominator * numerator / turned
    return np.asarray(pole)
