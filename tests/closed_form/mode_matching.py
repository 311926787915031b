r"""Steps and flanged ends by plain mode matching, the textbook method (Morse & Ingard 1968, §9.1).

Independent of :mod:`borestudy.closed_form.area_step` in all but the equations: the velocity over
the opening of radius 1 is 1 + Σ cₘ J0(μₘ r) in the narrow tube's own modes, without functions that
know the edge, so it converges slowly and is extrapolated.  For every m the far side's pressure
over the opening balances that of the narrow tube's evanescent modes.  The far side is a wider tube,
a sum over its modes, or a half space, an integral over wavenumbers.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import j0, j1, jn_zeros

Array = NDArray[np.float64]


def zeros_of_j1(count: int) -> Array:
    """Positive zeros; from the 31st on McMahon's expansion, good to 1e-12 there."""
    beta = (np.arange(31, count + 1) + 0.25) * np.pi
    far = beta - 3 / (8 * beta) + 12 / (8 * beta) ** 3
    return np.concatenate([jn_zeros(1, min(count, 30)), far])


def shares(zeros: Array, kappa: Array) -> Array:
    """``∫₀¹ J0(μ r) J0(κ r) r dr`` of μ = 0 and of every zero, shape (1 + zeros, κ)."""
    plain = j1(kappa) / kappa
    higher = j0(zeros)[:, None] * kappa * j1(kappa) / (kappa**2 - zeros[:, None] ** 2)
    return np.vstack([plain, higher])


def mean_pressure(zeros: Array, far: NDArray, ka: float) -> complex:
    """Far side's mean pressure over the opening for a mean velocity of 1, units of iωρ · radius."""
    near = np.diag(0.5 * j0(zeros) ** 2 / np.sqrt(zeros**2 - ka**2))
    velocities = np.linalg.solve(far[1:, 1:] + near, -far[1:, 0])
    return complex(2 * (far[0, 0] + far[0, 1:] @ velocities))


def extrapolated(values: list[complex]) -> complex:
    """Limit of a sequence whose number of modes doubles each time (Aitken)."""
    first, second, third = values
    return third - (third - second) ** 2 / (third - 2 * second + first)


def step_correction(ratio: float) -> float:
    """End correction over the narrow radius of a step to a tube 1/ratio as wide, as f → 0."""
    found = []
    for count in (20, 40, 80):
        zeros, kappa = zeros_of_j1(count), ratio * zeros_of_j1(round(30 * count / ratio))
        overlap = shares(zeros, kappa)
        weight = 2 * ratio**2 / (kappa * j0(kappa / ratio) ** 2)
        found.append(mean_pressure(zeros, (overlap * weight) @ overlap.T, 0.0))
    return extrapolated(found).real


def flanged_end(ka: float) -> tuple[float, float]:
    """|R| and end correction over the radius of an end in an infinite plane."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    radiating = ka * np.sin((nodes + 1) * np.pi / 4)
    # beyond κ = k with s² = κ² − k², in pieces of 1; what lies beyond 600 is worth 5e-7
    few, few_weights = np.polynomial.legendre.leggauss(8)
    s = (np.arange(600)[:, None] + (few + 1) / 2).ravel()
    ds = np.tile(few_weights / 2, 600)
    found = []
    for count in (20, 40, 80):
        zeros = zeros_of_j1(count)
        low, high = shares(zeros, radiating), shares(zeros, np.hypot(ka, s))
        far = (high * ds) @ high.T - 1j * (low * radiating * weights * np.pi / 4) @ low.T
        found.append(mean_pressure(zeros, far, ka))
    impedance = 1j * ka * extrapolated(found)
    reflection = (impedance - 1) / (impedance + 1)
    return abs(reflection), float(np.angle(-1 / reflection) / (2 * ka))
