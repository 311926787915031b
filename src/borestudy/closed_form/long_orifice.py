r"""Square-edged orifices two to ten diameters long: their measured discharge coefficient.

With the bore's diameter :math:`d` and length :math:`L`, its area over the pipe's :math:`m`, and
:math:`R = \sqrt{2\Delta p/\rho}\, d/\nu`, which is :math:`Re\sqrt{1-m^2}/C_d`,

.. math::
   \frac1{C_d} = \frac1{C_{du}} + \frac{20}{R}\Big(1 + 2.25\frac Ld\Big)
                 - \frac{0.005\,L/d}{1 + 7.5\,[\log_{10}(0.00015 R)]^2}, \qquad
   C_{du} = 0.827 - 0.0085\,\frac Ld,

where :math:`C_d = Q\sqrt{1-m^2}/(A\sqrt{2\Delta p/\rho})` between the wide pipe before and the
plane of the sudden enlargement behind, so that :math:`\Delta p/q = (1-m^2)/C_d^2`.

References
----------
Lichtarowicz, Duggins & Markland 1965, J. Mech. Eng. Sci. 7(2), 210, equations 7 and 12: "fits all
but a few points to better than 0.02 in the range of l/d from 2 to 10 and of Re from 10 to 2e4".
That R is the one of the pressure drop and not of the mean velocity was found here: only so do
low Reynolds numbers come out at Poiseuille's and Sampson's drop.
"""

import numpy as np
from scipy.optimize import brentq

SOURCE = "Lichtarowicz, Duggins & Markland 1965, J. Mech. Eng. Sci. 7(2), 210, eq. 12, Cd +-0.02"
#: What nearly all of the authors' points are within.
COEFFICIENT_ERROR = 0.02
SHORTEST, LONGEST = 2.0, 10.0
#: A twentieth past the stated 2e4, where nothing changes any more, for 10 diameters at 15 000.
LEAST_R, GREATEST_R = 10.0, 2.1e4


def at_high_reynolds(length: float) -> float:
    """Discharge coefficient that is no longer a function of the Reynolds number; length over d."""
    return 0.827 - 0.0085 * length


def at_pressure(hydraulic: float, length: float) -> float:
    """Discharge coefficient at a Reynolds number R of the pressure drop, length over diameter.

    Raises
    ------
    ValueError
        Outside of what was measured.
    """
    if not SHORTEST <= length <= LONGEST or not LEAST_R <= hydraulic <= GREATEST_R:
        raise ValueError(
            f"a long orifice: found a length of {length:g} diameters and R = {hydraulic:.4g}; "
            f"allowed are {SHORTEST:g} to {LONGEST:g} diameters and R from {LEAST_R:g} to "
            f"{GREATEST_R:g}, for example 2 diameters and R = 5000"
        )
    friction = 20 / hydraulic * (1 + 2.25 * length)
    bend = 0.005 * length / (1 + 7.5 * np.log10(0.00015 * hydraulic) ** 2)
    return float(1 / (1 / at_high_reynolds(length) + friction - bend))


def discharge_coefficient(reynolds: float, length: float, area_ratio: float = 0.0) -> float:
    """Discharge coefficient at a Reynolds number of the mean velocity in the bore.

    Parameters
    ----------
    reynolds : float
        Mean velocity in the bore times its diameter over ν.
    length : float
        Length over diameter.
    area_ratio : float
        The bore's area over the pipe's.

    Raises
    ------
    ValueError
        Outside of what was measured.
    """
    approach = reynolds * np.sqrt(1 - area_ratio**2)

    def excess(hydraulic: float) -> float:
        return at_pressure(hydraulic, length) * hydraulic - approach

    if not excess(LEAST_R) <= 0 <= excess(GREATEST_R):
        least, most = ((excess(end) + approach) for end in (LEAST_R, GREATEST_R))
        raise ValueError(
            f"a long orifice of {length:g} diameters: found Reynolds number {reynolds:.4g}; "
            f"allowed is {least:.3g} to {most:.3g}, for example 5000"
        )
    return float(approach / brentq(excess, LEAST_R, GREATEST_R, rtol=1e-12))


def pressure_drop(
    reynolds: float, length: float, area_ratio: float = 0.0
) -> tuple[float, float, float]:
    """Pressure drop over the bore's dynamic pressure: as measured, least and greatest.

    Least and greatest are those of a discharge coefficient off by `COEFFICIENT_ERROR`.
    """
    coefficient = discharge_coefficient(reynolds, length, area_ratio)
    offs = (0.0, COEFFICIENT_ERROR, -COEFFICIENT_ERROR)
    drop, least, greatest = ((1 - area_ratio**2) / (coefficient + off) ** 2 for off in offs)
    return drop, least, greatest
