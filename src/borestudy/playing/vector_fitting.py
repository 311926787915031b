r"""Poles and residues of a rational function through samples on the imaginary axis.

Vector fitting (Gustavsen & Semlyen 1999, IEEE Trans. Power Delivery 14, 1052) with the relaxed
condition (Gustavsen 2006, IEEE Trans. Power Delivery 21, 1587), from memory: with poles
:math:`a_k`, the least squares problem

.. math::
    \sum_k \frac{c_k}{s - a_k} = \Big(d + \sum_k \frac{\tilde c_k}{s - a_k}\Big) Z(s)

is linear, the zeros of the bracket are better poles, and so on until they stay.  Unstable ones are
mirrored.  Then the residues alone are fitted, under linear conditions that keep Re Z positive.

Deviations count as shares of :math:`|Z|`.  Poles are one of each pair, with positive imaginary
part, and the real ones; :math:`s` is in a unit in which the range ends near 1.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lstsq, qr, solve_triangular
from scipy.optimize import nnls

from borestudy.playing.passivity import (
    deciding_frequencies,
    is_passive,
    real_part,
    real_part_by_residue,
)

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]

ROUNDS = 12
#: Rounds end where the deviation becomes smaller by less than this share of it.
SETTLED = 0.02
#: Least damping of a pole as a share of its size, for peaks among the samples; and the most that is
#: asked of one beyond them.
SHARPEST, BEYOND = 1e-9, 0.015
#: The same for peaks between 0 Hz, where Z is known, and the next frequency: none.
BELOW = 0.7
#: Weight of a sample at 0 Hz, which stands alone.
AT_REST = 100.0
#: Least size of a pole where Z is known at 0 Hz, as a share of the next frequency: nothing that
#: lasts longer is known of.
SLOWEST = 0.2
#: Weight of the residues' size against the deviation: only what the samples leave open is decided.
SMALL_RESIDUES = 1e-12
#: What Re Z has to keep above, as a share of what residues of the same size, real, would make it.
#: Far below any loss of a bore, and far above rounding.
MARGIN = 1e-7
MOST_CUTS = 40


def partial_fractions(s: Complex, poles: Complex) -> Complex:
    """What Z is at `s` for residues 1 and, at pairs, i; shape (n_samples, parts)."""
    columns = []
    for pole in poles:
        if pole.imag == 0:
            columns.append(1 / (s - pole.real))
        else:
            one, other = 1 / (s - pole), 1 / (s - pole.conjugate())
            columns += [one + other, 1j * (one - other)]
    return np.array(columns).T


def residues_of(poles: Complex, parts: Real) -> Complex:
    """Residues of the real numbers that go with :func:`partial_fractions`."""
    rest, found = iter(parts), []
    for pole in poles:
        real = next(rest)
        found.append(complex(real, 0.0 if pole.imag == 0 else next(rest)))
    return np.array(found, dtype=complex)


def fitted_poles(s: Complex, impedance: Complex, poles: Complex) -> Complex:
    """Poles that fit, from others to start with."""
    best, least = poles, np.inf
    for _ in range(ROUNDS):
        poles = _better_poles(s, impedance, poles)
        deviation = fitted_residues(s, impedance, poles)[1]
        if deviation < least:
            settled = deviation > (1 - SETTLED) * least
            best, least = poles, deviation
            if settled:
                break
    return best


def fitted_residues(s: Complex, impedance: Complex, poles: Complex) -> tuple[Complex, float]:
    """Residues of the least deviation, and its root mean square as a share of each sample."""
    matrix, target = _residue_problem(s, impedance, poles)
    parts = lstsq(matrix, target, lapack_driver="gelsy", check_finite=False)[0]
    deviation = np.linalg.norm(matrix @ parts - target) / np.sqrt(len(s))
    return residues_of(poles, parts), float(deviation)


def passive_residues(s: Complex, impedance: Complex, poles: Complex) -> Complex:
    """Residues of the least deviation among those with Re Z > 0 at every frequency.

    Each time a frequency is found at which Re Z is too small, it becomes a condition, until there
    is none: a quadratic problem by Lawson & Hanson 1974, Solving Least Squares Problems, chapter
    23 (least distance programming; from memory).

    Raises
    ------
    ValueError
        If conditions still fail after `MOST_CUTS` times.
    """
    residues, _ = fitted_residues(s, impedance, poles)
    lossy: Complex = np.asarray(MARGIN * np.abs(residues), dtype=complex)
    if is_passive(poles, residues - lossy):
        return residues
    matrix, target = _residue_problem(s, impedance, poles)
    rotation, triangle = qr(matrix, mode="economic", check_finite=False)
    start = rotation.T @ target
    cuts = np.zeros(0)
    for _ in range(MOST_CUTS):
        tried = deciding_frequencies(poles, residues - 2 * lossy)
        low = real_part(poles, residues - 2 * lossy, tried) <= 0
        cuts = np.unique(np.concatenate([cuts, tried[low]]))
        conditions = real_part_by_residue(poles, cuts)
        floor = 3 * real_part(poles, lossy, cuts)
        size = np.linalg.norm(conditions, axis=1)
        slopes = solve_triangular(triangle, (conditions / size[:, None]).T, trans="T").T
        step = _least_step(slopes, floor / size - slopes @ start)
        residues = residues_of(poles, solve_triangular(triangle, start + step))
        if is_passive(poles, residues - lossy):
            return residues
    raise ValueError(
        f"modal fit: found no residues of {len(poles)} poles with Re Z > 0 at every frequency; "
        "allowed is the impedance of a bore with losses, for example with walls: curved"
    )


def _least_step(slopes: Real, least: Real) -> Real:
    """The shortest step with ``slopes @ step >= least``."""
    lengths = np.linalg.norm(slopes, axis=1)
    slopes, least = slopes / lengths[:, None], least / lengths
    scale = max(float(np.max(least)), 1e-300)
    table = np.vstack([slopes.T, least / scale])
    goal = np.zeros(len(table))
    goal[-1] = 1.0
    found = table @ nnls(table, goal, maxiter=100 * len(table))[0] - goal
    return -scale * found[:-1] / found[-1]


def _residue_problem(s: Complex, impedance: Complex, poles: Complex) -> tuple[Real, Real]:
    """Matrix and right hand side for the parts of the residues."""
    weight = _weights(s, impedance)
    matrix = _stacked(partial_fractions(s, poles) * weight[:, None])
    target = _stacked(impedance * weight)
    small = SMALL_RESIDUES * np.diag(np.linalg.norm(matrix, axis=0))
    return np.vstack([matrix, small]), np.concatenate([target, np.zeros(len(small))])


def _better_poles(s: Complex, impedance: Complex, poles: Complex) -> Complex:
    """The zeros of the bracket, mirrored where they are unstable."""
    fractions = partial_fractions(s, poles)
    size = fractions.shape[1]
    weight = _weights(s, impedance)[:, None]
    turned = -weight * impedance[:, None]
    matrix = _stacked(np.hstack([weight * fractions, turned * fractions, turned]))
    # The bracket's mean is 1, which only keeps it from vanishing.
    mean = np.concatenate([np.zeros(size), fractions.real.sum(axis=0), [len(s)]]) / np.sqrt(len(s))
    matrix = np.vstack([matrix, mean])
    target = np.zeros(len(matrix))
    target[-1] = np.sqrt(len(s))
    lengths = np.linalg.norm(matrix, axis=0)
    found = lstsq(matrix / lengths, target, lapack_driver="gelsy", check_finite=False)[0] / lengths
    states, inputs = np.zeros((size, size)), np.empty(size)
    at = 0
    for pole in poles:
        if pole.imag == 0:
            states[at, at], inputs[at] = pole.real, 1.0
            at += 1
        else:
            states[at : at + 2, at : at + 2] = [[pole.real, pole.imag], [-pole.imag, pole.real]]
            inputs[at : at + 2] = 2.0, 0.0
            at += 2
    zeros = np.linalg.eigvals(states - np.outer(inputs, found[size : 2 * size]) / found[-1])
    zeros = _restricted(zeros, s)
    zeros = zeros[zeros.imag >= 0]
    return np.asarray(zeros[np.lexsort((zeros.real, zeros.imag))], dtype=complex)


def _restricted(poles: Complex, s: Complex) -> Complex:
    """Poles made to decay, where the samples say nothing as fast as may be expected there."""
    size = np.abs(poles)
    known_at_rest = s[0] == 0
    if known_at_rest:
        slow = np.maximum(1.0, SLOWEST * s[1].imag / size)
        poles, size = slow * poles, slow * size
    place = np.abs(poles.imag)
    damping = np.maximum(np.abs(poles.real), SHARPEST * size)
    beyond = place > s[-1].imag
    sharpest = np.min((damping / size)[~beyond & (place > 0)], initial=BEYOND)
    damping = np.where(beyond, np.maximum(damping, sharpest * size), damping)
    if known_at_rest:
        below = place < s[1].imag
        damping = np.where(below, np.maximum(damping, BELOW * size), damping)
    return np.asarray(-damping + 1j * poles.imag)


def _weights(s: Complex, impedance: Complex) -> Real:
    """Weight of each sample's deviation."""
    return np.where(s == 0, AT_REST, 1.0) / np.abs(impedance)


def _stacked(values: Complex) -> Real:
    """Real parts, then imaginary ones."""
    return np.concatenate([values.real, values.imag])
