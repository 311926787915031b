r"""Whether a sum of modes takes up power at every frequency, from 0 to infinity.

A passive impedance has :math:`\mathrm{Re}\,Z(i\omega) > 0`.  Of a sum of modes
:math:`Z(s) = \sum_k r_k / (s - p_k)` over all poles, complex ones in pairs, it is a function of
:math:`x = \omega^2`,

.. math:: \mathrm{Re}\,Z(i\omega) = \sum_k \frac{-r_k p_k}{x + p_k^2},

with as many zeros, less one, as there are poles.  Between two neighbours among those that lie on
:math:`x > 0` its sign is the same throughout, so that one place between each two decides about all
frequencies.  For the zeros as eigenvalues: Boyd, Balakrishnan & Kabamba 1989, Math. Control
Signals Systems 2, 207 (from memory).

Poles are given as one of each pair, with positive imaginary part, and the real ones.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigvals

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]


def real_part(poles: Complex, residues: Complex, omega: Real) -> Real:
    r"""Re Z times :math:`1 + \omega^2`, at :math:`\omega` from 0 to infinity.

    With that factor it has a limit at infinity, :math:`-\sum_k r_k p_k`.

    Parameters
    ----------
    poles, residues : ndarray, shape (n,)
        In one unit of angular frequency.
    omega : ndarray, shape (m,)
        In that unit; infinity is allowed.
    """
    return np.asarray(real_part_by_residue(poles, omega) @ _parts(poles, residues))


def real_part_by_residue(poles: Complex, omega: Real) -> Real:
    """What :func:`real_part` is for residues 1 and, at pairs, i; shape (m, parts)."""
    columns = []
    with np.errstate(over="ignore", invalid="ignore"):
        x = np.asarray(omega, dtype=float) ** 2
    finite = np.isfinite(x)
    x = np.where(finite, x, 0.0)
    for pole in poles:
        share = np.where(finite, (1 + x) / (x + pole**2), 1.0)
        found = -pole * share
        if pole.imag == 0:
            columns.append(found.real)
        else:
            columns += [2 * found.real, -2 * found.imag]
    return np.array(columns).T


def deciding_frequencies(poles: Complex, residues: Complex) -> Real:
    """Frequencies from 0 to infinity at which the sign of Re Z decides about all others.

    Besides 0, infinity and a place between each two zeros they are those nearest to zeros off the
    axis, and to poles: there Re Z is least where it is small without a change of sign.
    """
    pairs = poles.imag != 0
    every = np.concatenate([poles, poles[pairs].conj()])
    # Zeros of E(x) = Σ ρ / (x + p²): those of a pencil in the shape of an arrow.
    by_square = -every * np.concatenate([residues, residues[pairs].conj()])
    size = len(every)
    scale = np.sqrt(np.abs(by_square) + 1e-300)
    left, right = np.zeros((size + 1, size + 1), dtype=complex), np.eye(size + 1)
    left[0, 1:], left[1:, 0] = by_square / scale, scale
    left[1:, 1:] = np.diag(-(every**2))
    right[0, 0] = 0.0
    with np.errstate(all="ignore"):
        zeros = eigvals(left, right)
    zeros = zeros[np.isfinite(zeros) & (zeros.real > 0)]
    marks = np.sort(np.concatenate([np.sqrt(zeros.real), np.abs(poles.imag)[pairs], np.abs(poles)]))
    between = np.sqrt(marks[:-1] * marks[1:])
    return np.sort(np.concatenate([[0.0], marks, between, [np.inf]]))


def is_passive(poles: Complex, residues: Complex) -> bool:
    """Whether the poles decay and Re Z > 0 at every frequency from 0 to infinity.

    At infinity, where every sum of modes vanishes, the limit of :math:`\\omega^2` Re Z counts.
    """
    if not np.all(poles.real < 0):
        return False
    return bool(np.all(real_part(poles, residues, deciding_frequencies(poles, residues)) > 0))


def _parts(poles: Complex, residues: Complex) -> Real:
    """Real and imaginary parts of residues in a row, of real poles the real part alone."""
    found: list[float] = []
    for pole, residue in zip(poles, residues, strict=True):
        found += [residue.real] if pole.imag == 0 else [residue.real, residue.imag]
    return np.array(found)
