r"""Plane waves in a round tube with viscous and thermal wall losses.

With :math:`k_v = \sqrt{-i\omega\rho/\mu}`, :math:`k_t = k_v\sqrt{Pr}` and
:math:`f(x) = 2 J_1(x)/(x J_0(x))`, the tube of radius :math:`a` has per metre the series
impedance and the shunt admittance

.. math::
    z = \frac{i\omega\rho}{S\,(1 - f(k_v a))}, \qquad
    y = \frac{i\omega S}{\rho c^2}\,(1 + (\gamma-1) f(k_t a)),

hence :math:`\Gamma = \sqrt{zy}`, :math:`Z_c = \sqrt{z/y}`.  Time factor :math:`e^{+i\omega t}`.

The pressure is taken as even over the section.  What pulls at the wall makes it bulge by
:math:`(\kappa a)^2/8`, :math:`\kappa^2 = k^2 + \Gamma^2`: in a tube of 9 mm at 3 kHz some 1e-4 of
an impedance at its minimum.  Kirchhoff's full dispersion relation has that bulge; with its
:math:`\Gamma`, :math:`Z_c = z/\Gamma` is exact to first order of the bulge for a section driven
evenly, since the mean of the mode appears squared in the impedance and so does its norm.

References
----------
Kirchhoff, G. (1868), Ann. Phys. 210, 177: three coupled waves in a tube (derived anew, without
    the absorption of the open air).
Zwikker, C. & Kosten, C. W. (1949), Sound Absorbing Materials, Elsevier (from memory; the
    attenuation was checked against Kirchhoff's full dispersion relation).
"""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import newton
from scipy.special import jve

from borestudy.air import Air

Complex = NDArray[np.complex128]
Theory = Literal["even pressure", "Kirchhoff"]
#: Share of Γ by which the last step of its search may still move it.
SETTLED = 1e-11


def loss_function(argument: ArrayLike) -> Complex:
    """``2 J1(x) / (x J0(x))``, safe for the large complex arguments of wide tubes."""
    x = np.asarray(argument, dtype=complex)
    return np.asarray(2.0 * jve(1, x) / (x * jve(0, x)))


def wall_functions(radius: ArrayLike, omega: ArrayLike, air: Air) -> tuple[Complex, Complex]:
    """Viscous and thermal loss functions of a tube, ``f(kv a)`` and ``f(kt a)``.

    Parameters
    ----------
    radius : array_like
        Radius of the tube [m].
    omega : array_like
        Angular frequencies [rad/s], broadcast against ``radius``; they may be complex.
    air : Air
        The air in the tube.
    """
    viscous = np.sqrt(-1j * np.asarray(omega) / air.kinematic_viscosity) * np.asarray(radius)
    return loss_function(viscous), loss_function(viscous * np.sqrt(air.prandtl_number))


def line_constants(
    radius: ArrayLike, omega: ArrayLike, air: Air, lossless: bool = False
) -> tuple[Complex, Complex]:
    """Series impedance [Pa·s/m⁴] and shunt admittance [m²/(Pa·s)] per metre of tube."""
    omega = np.asarray(omega)
    area = np.pi * np.asarray(radius) ** 2
    viscous, thermal = (0.0, 0.0) if lossless else wall_functions(radius, omega, air)
    series = 1j * omega * air.density / (area * (1 - viscous))
    compliance = 1 + (air.heat_capacity_ratio - 1) * thermal
    shunt = 1j * omega * area * compliance / (air.density * air.sound_speed**2)
    return np.asarray(series), np.asarray(shunt)


def propagation_constant(
    radius: ArrayLike, omega: ArrayLike, air: Air, lossless: bool = False
) -> Complex:
    """Propagation constant Γ = α + iβ [1/m]."""
    series, shunt = line_constants(radius, omega, air, lossless)
    # the product of the two square roots, so that complex frequencies stay on one branch
    return np.asarray(np.sqrt(series) * np.sqrt(shunt))


def characteristic_impedance(
    radius: ArrayLike, omega: ArrayLike, air: Air, lossless: bool = False
) -> Complex:
    """Impedance Zc = p/U of a wave that goes one way [Pa·s/m³]."""
    series, shunt = line_constants(radius, omega, air, lossless)
    return np.asarray(np.sqrt(series) / np.sqrt(shunt))


def kirchhoff_constant(radius: float, omega: ArrayLike, air: Air) -> Complex:
    """Γ of the acoustic, thermal and vortical waves together, no slip, isothermal wall [1/m].

    The secant method starts from the even-pressure constant, which is less than a per mil away.

    Raises
    ------
    RuntimeError
        If the secant method does not settle.
    """
    omega = np.atleast_1d(omega)
    diffusivity = air.thermal_conductivity / (air.density * air.specific_heat)
    stiffness, excess = air.density * air.sound_speed**2, air.heat_capacity_ratio - 1

    def slope(wavenumber: Complex) -> Complex:
        """J1/J0 of a radial wavenumber at the wall."""
        return np.asarray(jve(1, wavenumber * radius) / jve(0, wavenumber * radius))

    def flow_through_wall(constant: Complex) -> Complex:
        squared = -(constant**2)  # of the axial wavenumber, exp(−Γx) = exp(−i k_x x)
        acoustic = np.sqrt((omega / air.sound_speed) ** 2 - squared)
        thermal = np.sqrt(-1j * omega / diffusivity - squared)
        vortical = np.sqrt(-1j * omega * air.density / air.viscosity - squared)
        radial = acoustic * slope(acoustic) / (1j * omega * air.density)
        radial = radial + diffusivity * excess / stiffness * thermal * slope(thermal)
        slip = 1 / (omega * air.density) + 1j * diffusivity * excess / stiffness
        return np.asarray(radial - 1j * squared * slip * slope(vortical) / vortical)

    near = propagation_constant(radius, omega, air)
    tolerance = SETTLED * np.abs(near).min()
    return np.asarray(newton(flow_through_wall, near, x1=near * (1 + 1e-4), tol=tolerance))


def transfer_matrix(
    radius: float,
    length: float,
    omega: ArrayLike,
    air: Air,
    lossless: bool = False,
    theory: Theory = "even pressure",
) -> Complex:
    """Chain matrix from outlet to inlet, ``(p1, U1) = T (p2, U2)``, both flows toward the outlet.

    Parameters
    ----------
    radius, length : float
        Dimensions of the tube [m].
    omega : array_like, shape (n_frequencies,)
        Angular frequencies [rad/s]; real where ``theory`` is "Kirchhoff".
    air, lossless
        Its air, and whether to leave out the wall losses; the pressure is even then.
    theory : {"even pressure", "Kirchhoff"}
        Whether the pressure may bulge over the section.

    Returns
    -------
    ndarray, shape (n_frequencies, 2, 2)
    """
    omega = np.atleast_1d(omega)
    if lossless or theory == "even pressure":
        constant = propagation_constant(radius, omega, air, lossless)
        impedance = characteristic_impedance(radius, omega, air, lossless)
    else:
        constant = kirchhoff_constant(radius, omega, air)
        impedance = line_constants(radius, omega, air)[0] / constant
    sinh, cosh = np.sinh(constant * length), np.cosh(constant * length)
    return two_by_two(cosh, impedance * sinh, sinh / impedance, cosh)


def thermal_end_admittance(radius: float, omega: ArrayLike, air: Air) -> Complex:
    r"""Admittance U/p of a rigid isothermal plane end wall [m³/(Pa·s)].

    The thermal layer makes a wall of area S absorb
    :math:`Y = \frac{1+i}{2}(\gamma-1)\,\delta_T\,\omega S/(\rho c^2)`
    (Cremer 1948, from memory; the plane limit of the tube's shunt admittance).
    """
    omega = np.asarray(omega)
    shunt = omega * np.pi * radius**2 / (air.density * air.sound_speed**2)
    layer = air.thermal_layer(omega)
    return np.asarray((1 + 1j) / 2 * (air.heat_capacity_ratio - 1) * layer * shunt)


def impedance_matrix(transfer: Complex) -> Complex:
    """Two-port impedance matrix, both flows *into* the two-port, of a chain matrix."""
    (a, b), (c, d) = np.moveaxis(transfer, (-2, -1), (0, 1))
    return two_by_two(a / c, (a * d - b * c) / c, 1 / c, d / c)


def two_by_two(a: Complex, b: Complex, c: Complex, d: Complex) -> Complex:
    """Matrices ((a, b), (c, d)) of entries of one shape (…), shape (…, 2, 2)."""
    return np.stack([np.stack([a, b], axis=-1), np.stack([c, d], axis=-1)], axis=-2)
