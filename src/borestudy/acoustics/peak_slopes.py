r"""Derivatives of an impedance's peaks and poles by dimensions, on one mesh.

A resonance is where the slope of :math:`\ln|Z|` is zero, and its Q is that of the zero of
:math:`1/Z` beside it.  With :math:`L = \ln Z`, a stroke for frequency and a dot for a dimension,

.. math::
    \dot f = -\mathrm{Re}\,\dot L' / \mathrm{Re}\,L'', \qquad
    \frac{d|Z|}{|Z|} = \mathrm{Re}\,\dot L, \qquad
    \dot s = -\dot Z/Z' \text{ at the pole } s .

Second derivatives by frequency are differences of first ones over a thousandth of the peak's half
width, which is good to 1e-6.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.operator import AffineOperator
from borestudy.acoustics.response import Nearby, Response, response
from borestudy.acoustics.two_port import ReducedModel, TwoPort
from borestudy.acoustics.walls import Complex, Real
from borestudy.air import Air
from borestudy.intervals import CENTS_PER_SHARE

#: Share of a peak's half width over which first derivatives are differenced, and the share of its
#: frequency that is taken for the half width where no pole is known.
DIFFERENCE, HALF_WIDTH = 1e-3, 1e-3
#: Steps of Newton's method toward a pole, the step that ends it, and how near to the pole its
#: motion is read, as shares of its distance from the real axis.
POLE_STEPS, REACHED, BESIDE = 12, 1e-7, 1e-6
#: Places of a pole with a known Q that are looked at first, within a half width of its peak.
STARTS = 13
#: Twice the quality factor of complex frequencies that stand in where no pole is known.
ANYWHERE = 10.0
#: Share by which a pole's Q may differ from the peak's, which is less sure at the range's ends.
SAME_QUALITY = 1e-2


@dataclass(frozen=True)
class Peaks:
    """Peaks of one mesh, and their derivatives by each dimension, per SI unit.

    Frequencies [Hz] and heights [Pa·s/m³] of shape (n_peaks,), poles [Hz] too; `bend` is the second
    derivative of ln|Z| by frequency there.  Derivatives are of shape (n_dimensions, n_peaks).
    """

    frequency: Real
    height: Real
    pole: Complex
    bend: Real
    frequency_slope: Real
    height_slope: Real
    pole_slope: Complex

    def of_dimensions(self, places: Sequence[int]) -> "Peaks":
        """With the derivatives by some of the dimensions alone, in that order."""
        chosen = list(places)
        return replace(
            self,
            frequency_slope=self.frequency_slope[chosen],
            height_slope=self.height_slope[chosen],
            pole_slope=self.pole_slope[chosen],
        )

    @property
    def slopes(self) -> Real:
        """Of cents, Q and height, shape (n_dimensions, n_peaks, 3)."""
        real, imaginary = self.pole.real, self.pole.imag
        turning = self.pole_slope.real - real * self.pole_slope.imag / imaginary
        parts = [
            CENTS_PER_SHARE * self.frequency_slope / self.frequency,
            turning / (2 * imaginary),
            self.height_slope,
        ]
        return np.stack(parts, axis=-1)


def quality(poles: Complex) -> Real:
    """Quality factor of poles [Hz]."""
    return np.asarray(poles.real / (2 * poles.imag))


def peaks_with_slopes(model: ReducedModel, two_port: TwoPort, end: Nearby, figures: Real) -> Peaks:
    """Derivatives of one mesh's peaks, found before: frequency [Hz], Q, height, (n_peaks, 3).

    Peaks without a height are poles on the real axis, of a bore that loses nothing; one whose pole
    is not found again with its Q has no derivative of it.
    """
    frequency, known, air = figures[:, 0], figures[:, 1], two_port.air
    lossless = np.isnan(figures[:, 2])
    half = np.where(np.isfinite(known), frequency / (2 * known), HALF_WIDTH * frequency)
    step = DIFFERENCE * half
    places = frequency[:, None] + step[:, None] * np.array([-1.0, 1.0])
    sides = near(model.operator, model.derivatives, air, end, places)
    slope = (sides.by_frequency / sides.impedance).real
    change = (sides.by_dimension / sides.impedance).real
    bend = (slope[:, 1] - slope[:, 0]) / (2 * step)
    turning = (change[..., 1] - change[..., 0]) / (2 * step)
    pole = _poles(model, two_port, end, frequency, np.where(lossless, np.nan, known))
    beside = np.where(np.isfinite(pole), pole, frequency) + 1j * BESIDE * half
    found = near(model.operator, model.derivatives, air, end, beside[:, None])
    pole_slope = (-found.by_dimension / found.by_frequency)[..., 0]
    none = np.full(len(frequency), np.nan)
    height = np.abs(sides.impedance).mean(axis=1)
    return Peaks(
        frequency=frequency,
        height=np.where(lossless, none, height),
        pole=pole,
        bend=bend,
        frequency_slope=np.where(lossless, pole_slope.real, -turning / bend),
        height_slope=np.where(lossless, none, height * change.mean(axis=-1)),
        pole_slope=np.where(np.isfinite(pole), pole_slope, none),
    )


def near(
    operator: AffineOperator,
    derivatives: Sequence[AffineOperator],
    air: Air,
    end: Nearby,
    frequencies: NDArray,
    growth: float = 0.0,
) -> Response:
    """The response at frequencies of shape (n_peaks, n), with results of shape (…, n_peaks, n)."""
    state = [part.reshape(2, -1) for part in end.state(frequencies, growth)]
    found = response(operator, derivatives, air, frequencies.ravel().astype(complex), state)
    shape = frequencies.shape
    return Response(
        found.impedance.reshape(shape),
        found.by_frequency.reshape(shape),
        found.by_dimension.reshape(len(derivatives), *shape),
    )


def _poles(
    model: ReducedModel, two_port: TwoPort, end: Nearby, frequency: Real, known: Real
) -> Complex:
    """The pole beside each peak by Newton's method, NaN where there is none with its known Q.

    It starts where the impedance is greatest at complex frequencies of that Q.
    """
    searched = np.isfinite(known)
    if not searched.any():
        return np.full(len(frequency), np.nan, dtype=complex)
    half = frequency / np.where(searched, 2 * known, ANYWHERE)
    places = frequency[:, None] + half[:, None] * np.linspace(-1, 1, STARTS)
    places = places * (1 + 1j * half / frequency)[:, None]
    height = np.abs(near(model.operator, (), two_port.air, end, places).impedance)
    pole = places[np.arange(len(places)), np.argmax(height, axis=1)]
    step = np.zeros(len(pole), dtype=complex)
    for _ in range(POLE_STEPS):
        found = near(model.operator, (), two_port.air, end, pole[:, None])
        step = (found.impedance / found.by_frequency)[:, 0]
        # where it is reached the impedance is infinite: no step from there
        searched = searched & (np.abs(step) > REACHED * half)
        if not searched.any():
            break
        pole = np.where(searched, pole + step, pole)
    right = np.abs(quality(pole) / known - 1) < SAME_QUALITY
    return np.where(right & ~searched, pole, np.nan)
