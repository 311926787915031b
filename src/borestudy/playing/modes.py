r"""An impedance as a sum of modes, which is an ordinary differential equation in time.

.. math:: Z(s) = \sum_k \frac{r_k}{s - p_k} + \frac{r_k^*}{s - p_k^*},

real poles once.  Every pole decays, :math:`Z` vanishes at high frequencies, and
:math:`\mathrm{Re}\,Z(i\omega) > 0` at every frequency, within the range of the samples and beyond:
what is joined to it cannot draw power from it that was not put in.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.playing import passivity
from borestudy.playing.vector_fitting import fitted_poles, passive_residues

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]

#: Deviations from the samples that are small enough, as shares: at peaks, and anywhere.
ENOUGH_AT_PEAKS, ENOUGH = 3e-5, 3e-4
#: Deviation at peaks up to which trying further ends where this many numbers in a row do not help,
#: and the factor that counts as help.
GOOD_AT_PEAKS, IN_VAIN, HELP = 2e-4, 2, 0.8
#: Parts (two for a pair of poles, one for a real pole) beyond two for each peak, or three at most.
FEWEST_EXTRA, MOST_EXTRA, MORE = 8, 32, 4
#: Samples for each part.
SAMPLES_PER_PART = 2
#: The poles are fitted to samples between which the impedance changes by this share, and to no
#: fewer than so many.
CHANGE_BETWEEN, FEWEST_FITTED = 0.2, 200


@dataclass(frozen=True)
class Modes:
    """A sum of modes.

    Attributes
    ----------
    poles : ndarray, shape (n,)
        One of each conjugate pair, with positive imaginary part, and the real poles [rad/s].
    residues : ndarray, shape (n,)
        Their residues [Pa/m³], real at real poles.
    """

    poles: Complex
    residues: Complex

    def impedance(self, omega: ArrayLike) -> Complex:
        """Impedance [Pa·s/m³] at angular frequencies [rad/s], of their shape."""
        at = np.asarray(omega, dtype=float)
        s, pairs = 1j * at[..., None], self.poles.imag != 0
        found = (self.residues / (s - self.poles)).sum(axis=-1)
        mirrored = (self.residues.conj() / (s - self.poles.conj()))[..., pairs].sum(axis=-1)
        return np.asarray(found + mirrored)

    @property
    def at_rest(self) -> float:
        """Impedance at 0 Hz, a resistance [Pa·s/m³]."""
        return float(self.impedance(0.0).real)

    @property
    def passive(self) -> bool:
        """Whether all poles decay and Re Z > 0 from 0 Hz to infinity."""
        scale = np.max(np.abs(self.poles))
        return passivity.is_passive(self.poles / scale, self.residues / scale)

    def deviation(self, frequencies: ArrayLike, impedance: ArrayLike) -> tuple[float, float]:
        """Greatest deviation from samples at their peaks and anywhere, as shares of each sample.

        Parameters
        ----------
        frequencies : array_like, shape (n,)
            Rising frequencies [Hz].
        impedance : array_like, shape (n,)
            Impedance there [Pa·s/m³].
        """
        samples = np.asarray(impedance, dtype=complex)
        shares = np.abs(self.impedance(2 * np.pi * np.asarray(frequencies)) / samples - 1)
        return float(np.max(shares[peaks_of(samples)])), float(np.max(shares))


def peaks_of(impedance: Complex) -> NDArray[np.int64]:
    """Places of the samples that are peaks of |Z|; that of the greatest where there is none."""
    size = np.abs(impedance)
    found = 1 + np.flatnonzero((size[1:-1] > size[:-2]) & (size[1:-1] >= size[2:]))
    return found if len(found) else np.array([int(np.argmax(size))])


def fit_modes(frequencies: ArrayLike, impedance: ArrayLike, at_rest: float | None = None) -> Modes:
    """Modes whose sum is an impedance over a range of frequencies, and passive everywhere.

    The number of modes is raised until the deviation at the peaks is small or more modes no longer
    help; :meth:`Modes.deviation` says what is left.

    Parameters
    ----------
    frequencies : array_like, shape (n,)
        Rising frequencies of 0 and above [Hz], several within the width of each peak.
    impedance : array_like, shape (n,)
        Impedance there [Pa·s/m³], with time factor exp(+iωt).
    at_rest : float, optional
        Impedance at 0 Hz [Pa·s/m³], above 0, where the frequencies do not start there: the slope
        of the steady pressure drop.  Without it nothing keeps what is below the lowest frequency
        within reason, and there may be modes that last for seconds.

    Raises
    ------
    ValueError
        If there are too few samples, or frequencies that do not rise, or impedances that are 0 or
        not finite; if no sum of modes is passive.
    """
    hertz, samples = _checked(frequencies, impedance)
    scale, height = 2 * np.pi * float(hertz[-1]), float(np.max(np.abs(samples)))
    fitted, values = hertz, samples
    if at_rest is not None and hertz[0] > 0:
        fitted, values = np.append(0.0, hertz), np.append(_rest(at_rest), samples)
    kept = _thinned(values)
    s: Complex = np.asarray(1j * fitted[kept] / hertz[-1], dtype=complex)
    scaled: Complex = values[kept] / height
    peaks = hertz[peaks_of(samples)] / hertz[-1]
    most = 3 * len(peaks) + MOST_EXTRA
    best: Modes | None = None
    refused: ValueError | None = None
    least, in_vain = np.inf, 0
    for parts in range(2 * len(peaks) + FEWEST_EXTRA, most + 1, MORE):
        if SAMPLES_PER_PART * parts > len(hertz):
            break
        poles = fitted_poles(s, scaled, _first_poles(peaks, parts, s[1].imag))
        try:
            residues = passive_residues(s, scaled, poles)
        except ValueError as problem:
            refused = problem  # other poles may do
            continue
        found = Modes(scale * poles, scale * height * residues)
        at_peaks, anywhere = found.deviation(hertz, samples)
        left = max(at_peaks / ENOUGH_AT_PEAKS, anywhere / ENOUGH)
        in_vain = in_vain + 1 if left > HELP * least else 0
        if left < least:
            best, least = found, left
        if least <= 1 or (in_vain >= IN_VAIN and least <= GOOD_AT_PEAKS / ENOUGH_AT_PEAKS):
            break
    if best is None:
        assert refused is not None  # a first number of parts has been tried
        raise refused
    return best


def _rest(told: float) -> float:
    """The impedance at 0 Hz to be fitted."""
    if not (np.isfinite(told) and told > 0):
        raise ValueError(
            f"modal fit, impedance at rest: found {told} Pa·s/m³; allowed is a finite resistance "
            "above 0, for example 1e6"
        )
    return told


def _thinned(samples: Complex) -> NDArray[np.int64]:
    """Places of samples that lie close where the impedance changes fast, with all the peaks."""
    path = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(samples)) / np.abs(samples[1:]))])
    _, first = np.unique(np.floor(path / CHANGE_BETWEEN), return_index=True)
    even = np.linspace(0, len(samples) - 1, min(FEWEST_FITTED, len(samples))).astype(np.int64)
    return np.unique(np.concatenate([first, even, peaks_of(samples)]))


def _first_poles(peaks: Real, parts: int, lowest: float) -> Complex:
    """A pole at each peak, and others spread over the range and somewhat beyond."""
    others = (parts - 2 * len(peaks)) // 2
    spread = np.geomspace(max(lowest, 0.01) / 2, 1.5, others)
    places = np.sort(np.concatenate([peaks, spread]))
    return np.asarray(places * (-0.02 + 1j), dtype=complex)


def _checked(frequencies: ArrayLike, impedance: ArrayLike) -> tuple[Real, Complex]:
    """Frequencies and impedances that a fit can start from."""
    hertz, samples = np.asarray(frequencies, dtype=float), np.asarray(impedance, dtype=complex)
    if hertz.ndim != 1 or hertz.shape != samples.shape:
        raise ValueError(
            f"modal fit: found {hertz.shape} frequencies and {samples.shape} impedances; allowed "
            "is one impedance a frequency, for example 1000 of each"
        )
    if not (np.all(np.isfinite(hertz)) and np.all(np.diff(hertz) > 0) and np.all(hertz >= 0)):
        raise ValueError(
            "modal fit: found frequencies that do not rise from 0 Hz or above; allowed are rising "
            "ones, for example 50, 51, 52 Hz"
        )
    if not (np.all(np.isfinite(samples)) and np.all(samples != 0)):
        raise ValueError(
            "modal fit: found impedances that are 0 or not finite; allowed are those of a bore "
            "with losses, for example with walls: curved"
        )
    needed = SAMPLES_PER_PART * (2 * len(peaks_of(samples)) + FEWEST_EXTRA)
    if len(hertz) < needed:
        raise ValueError(
            f"modal fit: found {len(hertz)} frequencies; allowed are {needed} or more for as many "
            "peaks, for example one a hertz"
        )
    return hertz, samples
