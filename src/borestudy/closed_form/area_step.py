r"""The series inertance of a sudden change of section between two coaxial round tubes.

Where a tube of radius :math:`a` meets one of radius :math:`b > a`, the evanescent modes of both
store kinetic energy: at low frequency the junction is a *series inertance*
:math:`\rho\delta/(\pi a^2)`, not an extra length (Karal 1953, JASA 25, 327, from memory).

The axial velocity in the opening is expanded in :math:`(1 - r^2)^{n - 1/3}`, which has the
singularity of the 270° edge built in, and the pressures of the modes on either side are matched
over the opening by Galerkin's method; four functions give five digits.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gamma, j0, jn_zeros, jv

#: ν of every edge function (1 − r²)^ν.
EDGE_EXPONENTS = -1.0 / 3.0 + np.arange(5)
MODES = 20000
TABULATED_ZEROS = 200
SMALLEST_RATIO = 0.02  # a narrower opening would need more modes of the wide tube


def edge_transform(wavenumber: ArrayLike) -> NDArray[np.float64]:
    """``∫₀¹ (1 − r²)^ν J0(κ r) r dr`` of every edge function, shape (5, n_wavenumbers)."""
    kappa = np.atleast_1d(np.asarray(wavenumber, dtype=float))
    exponents = EDGE_EXPONENTS[:, None]
    return np.asarray(
        2.0**exponents * gamma(exponents + 1) * jv(exponents + 1, kappa) / kappa ** (exponents + 1)
    )


def edge_means() -> NDArray[np.float64]:
    """``∫₀¹ (1 − r²)^ν r dr`` of every edge function."""
    return np.asarray(1 / (2 * (EDGE_EXPONENTS + 1)))


@lru_cache(maxsize=1)
def radial_zeros() -> NDArray[np.float64]:
    """Positive zeros of J1; beyond the tabulated ones by McMahon's expansion."""
    index = np.arange(TABULATED_ZEROS + 1, MODES + 1)
    beta = (index + 0.25) * np.pi
    far = beta - 3 / (8 * beta) + 36 / (3 * (8 * beta) ** 3)
    return np.concatenate([jn_zeros(1, TABULATED_ZEROS), far])


@lru_cache(maxsize=4)
def _mode_shares(ratio: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Edge functions in the modes of a tube, and the norms of those modes over its section."""
    zeros = radial_zeros()
    return edge_transform(zeros / ratio), np.asarray(ratio**2 * j0(zeros) ** 2 / 2)


def evanescent_kernel(ratio: float = 1.0, wavenumber: float = 0.0) -> NDArray[np.float64]:
    """Pressure over the opening of the evanescent modes of a tube ``ratio`` times as wide.

    Lengths are in opening radii; the pressure is in units of iωρ.  Shape (5, 5).
    """
    transforms, norm = _mode_shares(ratio)
    decay = np.sqrt((radial_zeros() / ratio) ** 2 - wavenumber**2)
    return np.asarray((transforms / (decay * norm)) @ transforms.T)


@lru_cache(maxsize=256)
def end_correction(ratio: float) -> float:
    """δ/a of the junction of a narrow and a wide tube at low frequency.

    Parameters
    ----------
    ratio : float
        Narrow radius a over wide radius b, from ``SMALLEST_RATIO`` to 1.

    Returns
    -------
    float
        The series inertance is ``ρ δ / (π a²)``; 0 at a ratio of 1.

    Raises
    ------
    ValueError
        If the ratio is outside that range.
    """
    if not SMALLEST_RATIO <= ratio <= 1:
        raise ValueError(
            f"the ratio narrow/wide of an area step must lie between {SMALLEST_RATIO} and 1 "
            f"(for example 0.5), found {ratio}"
        )
    if ratio > 0.9999:
        return 0.0
    kernel = evanescent_kernel() + evanescent_kernel(1 / ratio)
    means = edge_means()
    return float(1 / (2 * means @ np.linalg.solve(kernel, means)))
