r"""Resonances found anew in each of many bores that differ a little, from one two-port.

From where the derivatives of the bore as it is say that a peak of :math:`|Z|` and its pole have
gone, Newton's method goes on in the two-port with the changed matrices: on the slope of
:math:`\ln|Z|` at real frequencies, and on :math:`1/Z`, which is nearly a straight line near its
zero, at complex ones.  Two or three small solves a peak do for what
`borestudy.acoustics.resonances` finds with thousands.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from borestudy.acoustics.operator import AffineOperator
from borestudy.acoustics.peak_slopes import Peaks, near, peaks_with_slopes, quality
from borestudy.acoustics.response import Nearby, near_peaks
from borestudy.acoustics.sensitivity import added
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.acoustics.walls import Complex, Real

#: Steps of Newton's method, and the last step of a peak and of a pole as a share of half the
#: bandwidth; a peak that is farther away than that share follows its pole.
STEPS, SETTLED, FAR = 10, 1e-6, 0.3
#: How far beside the pole its step is taken, as a share of its distance from the real axis: the
#: impedance is infinite at the pole itself.
ASIDE = 1e-4
#: Shares by which a peak's frequency and Q may differ from what is found in the bore as it is.
SAME_FREQUENCY, SAME_QUALITY = 1e-3, 1e-2
#: How many times the greatest shift that is expected a termination is known round a peak.
ROOM = 1.5


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
    known = np.asarray(peaks, dtype=float).reshape(-1, 2)
    rows = np.atleast_2d(np.asarray(amounts, dtype=float))
    found = np.full((len(rows), len(known), 3), np.nan)
    sought = np.isfinite(known).all(axis=1) & (known > 0).all(axis=1)
    if not sought.any():
        return found
    drawn, model = known[sought], two_port.finest
    places = [two_port.dimensions.index(key) for key in keys]
    derivatives = [model.derivatives[place] for place in places]
    radius, air = two_port.shank_radius, two_port.air

    def end_within(reach: Real | float) -> Nearby:
        return near_peaks(termination, radius, air, drawn[:, 0], drawn[:, 1], reach)

    figures = np.column_stack([drawn, np.ones(len(drawn))])
    base = peaks_with_slopes(model, two_port, end_within(0.0), figures)
    peaked = np.isfinite(base.pole) & (base.bend < 0)
    if not peaked.all():
        chosen = np.flatnonzero(sought)[peaked]
        found[:, chosen] = sampled_peaks(two_port, termination, keys, rows, known[chosen])
        return found
    by_key = base.of_dimensions(places)
    shifts = np.maximum(abs(rows @ by_key.frequency_slope), abs(rows @ by_key.pole_slope))
    end = end_within(ROOM * np.nan_to_num(shifts).max(axis=0))
    unmoved = _followed(by_key, np.zeros(len(keys)), model.operator, two_port, end)
    there = (np.abs(unmoved[:, :2] / drawn - 1) < [SAME_FREQUENCY, SAME_QUALITY]).all(axis=1)
    for result, row in zip(found, rows, strict=True):
        operator = model.operator
        for derivative, amount in zip(derivatives, row, strict=True):
            operator = added(operator, derivative, amount) if amount else operator
        followed = _followed(by_key, row, operator, two_port, end)
        result[sought] = np.where(there[:, None], followed, np.nan)
    return found


def _followed(
    peaks: Peaks, amounts: Real, operator: AffineOperator, two_port: TwoPort, end: Nearby
) -> Real:
    """Figures of peaks in a changed two-port, shape (n_peaks, 3); NaN where Newton's steps fail."""
    growth = operator.ports[1].edge_radius - two_port.shank_radius
    frequency = peaks.frequency + amounts @ peaks.frequency_slope
    pole = peaks.pole + amounts @ peaks.pole_slope
    settled = np.zeros(len(frequency), dtype=bool)
    height = np.full(len(frequency), np.nan)
    for _ in range(STEPS):
        usable = np.isfinite(pole) & (pole.imag > 0) & (frequency > 0)
        pole = np.where(usable, pole, peaks.frequency * (1 + 1j))
        frequency = np.where(usable, frequency, peaks.frequency)
        half = pole.imag
        beside = pole + 1j * ASIDE * half
        at = near(operator, (), two_port.air, end, np.stack([frequency, beside], axis=1), growth)
        ratio: Complex = at.by_frequency / at.impedance
        # the bend of ln|Z| goes with the inverse square of the bandwidth
        bend = peaks.bend * (peaks.pole.imag / half) ** 2
        steps = -ratio[:, 0].real / bend, beside + 1 / ratio[:, 1] - pole
        far = np.abs(steps[0]) > FAR * half
        height = np.abs(at.impedance[:, 0]) * np.exp(-(ratio[:, 0].real ** 2) / (2 * bend))
        frequency = frequency + np.where(far, steps[1].real, steps[0])
        pole = pole + steps[1]
        settled = usable & (np.abs(steps[0]) < SETTLED * half) & (np.abs(steps[1]) < ASIDE * half)
        if settled.all():
            break
    figures = np.column_stack([frequency, quality(pole), height])
    return np.where(settled[:, None], figures, np.nan)
