r"""Resonances of an input impedance: peaks of \|Z\|, and Q from the complex poles.

A resonance's frequency and height are those of the maximum of :math:`|Z_{in}|`.  Its Q is
:math:`\mathrm{Re} f / (2\,\mathrm{Im} f)` of the pole of :math:`Z_{in}` beside it, found by the
AAA rational approximation of the impedance on the real axis (Nakatsukasa, Sète & Trefethen 2018,
SIAM J. Sci. Comput. 40, A1494).
"""

import warnings
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import AAA
from scipy.optimize import brentq

from borestudy.acoustics.walls import Complex, Real
from borestudy.intervals import cents

Impedance = Callable[[Real], Complex]

POINTS = 2001
POLE_POINTS = 601
REFINED = 3e-5
POINTS_PER_ZOOM = 9
RATIONAL_TOLERANCE = 1e-10
SMALLEST_SHARE = 0.02


def impedance_peaks(impedance: Impedance, lowest: float, highest: float) -> tuple[Real, Real]:
    """Frequencies [Hz] and heights of the maxima of the impedance's magnitude inside a range.

    Found on a grid, then refined together until a parabola through three points places them to
    better than 1e-8.
    """
    grid = np.linspace(lowest, highest, POINTS)
    magnitude = np.abs(impedance(grid))
    inner = (magnitude[1:-1] > magnitude[:-2]) & (magnitude[1:-1] >= magnitude[2:])
    centre = grid[1:-1][inner]
    if len(centre) == 0:
        return centre, centre.copy()
    half = np.full(len(centre), grid[1] - grid[0])
    steps = np.linspace(-1.0, 1.0, POINTS_PER_ZOOM)
    while np.max(half / centre) > REFINED:
        sample = centre[:, None] + half[:, None] * steps
        height = np.abs(impedance(sample.ravel())).reshape(sample.shape)
        centre = sample[np.arange(len(centre)), np.argmax(height, axis=1)]
        half = half * (steps[1] - steps[0])
    sample = centre[:, None] + half[:, None] * np.array([-1.0, 0.0, 1.0])
    left, middle, right = np.log(np.abs(impedance(sample.ravel()))).reshape(sample.shape).T
    bend = left - 2 * middle + right
    offset = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    frequency = centre + half * np.clip(offset, -1.0, 1.0)
    return frequency, np.abs(impedance(frequency))


def lossless_resonances(impedance: Impedance, lowest: float, highest: float) -> Real:
    """Frequencies [Hz] at which a lossless bore's impedance is infinite.

    The susceptance of a lossless one-port only ever rises with frequency (Foster 1924), so that
    it passes through zero upward at a resonance and jumps downward elsewhere.
    """

    def susceptance(frequencies: Real) -> Real:
        return np.asarray(np.imag(1 / impedance(frequencies)))

    grid = np.linspace(lowest, highest, POINTS)
    values = susceptance(grid)
    upward = np.flatnonzero((values[:-1] < 0) & (values[1:] >= 0))
    roots = [
        brentq(lambda f: float(susceptance(np.array([f]))[0]), grid[i], grid[i + 1], xtol=1e-9)
        for i in upward
    ]
    return np.array(roots)


def complex_poles(impedance: Impedance, lowest: float, highest: float) -> tuple[Complex, Complex]:
    """Decaying poles f [Hz, Im f > 0] of an impedance and their residues.

    Frequencies are scaled to the range first; poles outside it by more than its width are left
    out, since data on the range say little about them.
    """
    grid = np.linspace(lowest, highest, POLE_POINTS)
    values = impedance(grid)
    scale = np.max(np.abs(values))
    middle, width = (lowest + highest) / 2, (highest - lowest) / 2
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # AAA: tolerance not reached, divisions
        # Poles that stand for nothing are left: they have no share in a peak's height, and scipy
        # would load its statistics to find them, for as long as the fit itself takes.
        fit = AAA(
            (grid - middle) / width,
            values / scale,
            rtol=RATIONAL_TOLERANCE,
            max_terms=80,
            clean_up=False,
        )
        poles, residues = fit.poles(), fit.residues()
    kept = (poles.imag > 0) & (np.abs(poles) < 3) & np.isfinite(residues)
    return middle + width * poles[kept], residues[kept] * scale * width


def quality_factors(impedance: Impedance, frequencies: Real, lowest: float, highest: float) -> Real:
    """Q of the pole that makes each peak; NaN where no pole stands out beside it."""
    quality = np.full(len(frequencies), np.nan)
    if len(frequencies) == 0:
        return quality
    poles, residues = complex_poles(impedance, lowest, highest)
    heights = np.abs(impedance(frequencies))
    for index, (frequency, height) in enumerate(zip(frequencies, heights, strict=True)):
        share = np.abs(residues / (frequency - poles)) / height
        near = (share > SMALLEST_SHARE) & (np.abs(poles.real / frequency - 1) < 0.5)
        near &= poles.real > 0
        if np.any(near):
            pole = poles[near][np.argmax(share[near])]
            quality[index] = pole.real / (2 * pole.imag)
    return quality


def resonance_figures(impedance: Impedance, lowest: float, highest: float) -> Real:
    """Frequency [Hz], Q and height of every peak in a range, shape (n_peaks, 3)."""
    frequency, height = impedance_peaks(impedance, lowest, highest)
    quality = quality_factors(impedance, frequency, lowest, highest)
    return np.column_stack([frequency, quality, height])


def peak_centroid(frequencies: Real, heights: Real) -> float:
    """Mean frequency [Hz] of the peaks weighted by height; NaN for fewer than two peaks."""
    if len(frequencies) < 2:
        return float("nan")
    return float(np.sum(frequencies * heights) / np.sum(heights))


def nearest_harmonics(frequencies: Real, fundamental: float) -> tuple[NDArray[np.int64], Real]:
    """Number of the nearest harmonic of ``fundamental`` [Hz], and cents above it."""
    number = np.maximum(1, np.rint(frequencies / fundamental)).astype(np.int64)
    return number, cents(frequencies / (number * fundamental))
