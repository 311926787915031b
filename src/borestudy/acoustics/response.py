r"""The input impedance with its derivatives by frequency and by dimensions, near its peaks.

With the pressures :math:`P = A^{-1}[b_1, b_2]` of the two ports, :math:`Z_{ij} = i\omega\rho\,b_i^T
P_j/(S_i S_j)`, a termination with :math:`p : U` and :math:`h = Z_{12}U/(p + Z_{22}U)`, the
derivative of the input impedance by anything is, since the two-port is its own adjoint,

.. math::
    \dot Z = i\omega\rho\,[2\tilde b^T\psi - \psi^T\dot A\psi] - 2\sum_i y_i(Zy)_i\,\dot S_i/S_i
    + y^T Z y\,\dot\omega/\omega
    - \Big(\frac{Z_{12}}{p + Z_{22}U}\Big)^2 (p\,\dot U - U\,\dot p),

:math:`y = (1, -h)`, :math:`\psi = \sum_i P_i y_i/S_i`, :math:`\tilde b = \sum_i \dot b_i y_i/S_i`:
the pressure of the terminated bore is all that is needed, for as many dimensions as there are.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from borestudy.acoustics import operator as operators
from borestudy.acoustics.operator import AffineOperator
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.walls import Complex, Real, layer_coefficients, layer_thicknesses
from borestudy.air import Air

#: Points of a termination round each peak, from which it is continued to complex frequencies.
NODES = 20
#: Half the width of their interval: at least this share of the peak's frequency, so many times the
#: imaginary part of its pole, and at most that share.
LEAST_SHARE, POLES, GREATEST_SHARE = 0.03, 1.5, 0.7
#: So many steps of the shank's radius to either side give a polynomial of the termination, each of
#: that share of the radius: together below what makes a step before an air column.
RADII, RADIUS_STEP = 2, 4.5e-4


@dataclass(frozen=True)
class Nearby:
    """A termination near some frequencies and near a radius of the shank.

    Pressure and flow are polynomials of the frequency round each peak, so that they hold at complex
    frequencies too, where an air column or an open end is known at real ones only.  The error of
    polynomials of degree 19 is below 1e-8 at the pole of a peak with a quality factor of 1.5, and
    2e-5 at 1 (the characteristic impedance of a pipe).
    """

    #: Middle and half width of the interval round each peak, shape (n_peaks,) [Hz].
    centre: Real
    half: Real
    #: Change of the radius [m] whose powers multiply the coefficients.
    step: float
    #: Of Chebyshev polynomials, for each power of the radius's change, pressure and flow, shape
    #: (n_coefficients, n_powers, 2, n_peaks).
    coefficients: Complex
    slopes: Complex

    def state(self, frequencies: NDArray, growth: float = 0.0) -> tuple[Complex, Complex, Complex]:
        """Pressure and flow, and their derivatives by frequency [1/Hz] and by radius [1/m].

        Frequencies are of shape (n_peaks, n) [Hz], `growth` is that of the shank's radius [m];
        results are of shape (2, n_peaks, n).
        """
        place = (frequencies - self.centre[:, None]) / self.half[:, None]
        at, along = (
            chebyshev.chebval(place[None, None], part[..., None], tensor=False)
            for part in (self.coefficients, self.slopes)
        )
        exponents = np.arange(len(at))
        powers = (growth / self.step) ** exponents
        by_radius = np.concatenate([[0.0], exponents[1:] * powers[:-1]]) / self.step
        return (
            np.tensordot(powers, at, 1),
            np.tensordot(powers, along, 1) / self.half[:, None],
            np.tensordot(by_radius, at, 1),
        )


def near_peaks(
    termination: Termination,
    radius: float,
    air: Air,
    frequencies: Real,
    qualities: Real,
    reach: Real | float = 0.0,
) -> Nearby:
    """A termination near peaks with known frequencies [Hz] and quality factors (NaN: not known).

    At least as far from each as it is asked to `reach` [Hz].
    """
    wide = np.where(np.isfinite(qualities), POLES * frequencies / (2 * qualities), 0.0)
    wide = wide + reach
    half = np.clip(wide, LEAST_SHARE * frequencies, GREATEST_SHARE * frequencies)
    places = chebyshev.chebpts1(NODES)
    omega = 2 * np.pi * (frequencies[:, None] + half[:, None] * places).ravel()
    sides, step = np.arange(-RADII, RADII + 1), RADIUS_STEP * radius
    series = np.stack(
        [(termination.at(radius + side * step) if side else termination).state(omega, air)
         for side in sides]
    )  # fmt: skip
    powers = np.linalg.solve(np.vander(sides, increasing=True), series.reshape(len(sides), -1))
    values = powers.reshape(len(sides), len(frequencies), NODES, 2).transpose(2, 0, 3, 1)
    vandermonde = chebyshev.chebvander(places, NODES - 1)
    coefficients = np.linalg.solve(vandermonde, values.reshape(NODES, -1)).reshape(values.shape)
    slopes = np.asarray(chebyshev.chebder(coefficients), dtype=complex)
    return Nearby(frequencies, half, step, np.asarray(coefficients, dtype=complex), slopes)


@dataclass(frozen=True)
class Response:
    """Input impedance at some frequencies, shape (n,), with derivatives of it.

    By frequency, shape (n,) [Pa·s/m³/Hz], and by each dimension, shape (n_dimensions, n).
    """

    impedance: Complex
    by_frequency: Complex
    by_dimension: Complex


def response(
    operator: AffineOperator,
    derivatives: Sequence[AffineOperator],
    air: Air,
    frequencies: Complex,
    state: Sequence[Complex],
) -> Response:
    """Impedance and derivatives at complex frequencies, shape (n,) [Hz].

    The termination's `state` is pressure and flow, and their derivatives by frequency [1/Hz] and by
    the shank's radius [1/m], shape (2, n) each.
    """
    omega = 2 * np.pi * np.asarray(frequencies)
    driven = operators.pressures(operator, omega, air)
    area = operators.effective_areas(operator, omega, air)
    matrix = operators.impedance_of(operator, omega, air, driven)
    (pressure, outflow), by_frequency, by_radius = state
    denominator = pressure + matrix[:, 1, 1] * outflow
    weights = np.column_stack(
        [np.ones_like(outflow), -matrix[:, 0, 1] * outflow / denominator]
    )  # y
    received = np.einsum("fij,fj->fi", matrix, weights)
    impedance = (weights * received).sum(axis=1) + (
        # y^T Z y leaves out the termination's own pressure
        (matrix[:, 0, 1] / denominator) ** 2 * pressure * outflow
    )
    share = weights / area
    field = np.einsum("fnj,fj->nf", driven, share)
    scale = 1j * omega * air.density
    through = (matrix[:, 0, 1] / denominator) ** 2

    def ended(change: Complex) -> Complex:
        return -through * (pressure * change[1] - outflow * change[0])

    def sizes(area_slope: Complex) -> Complex:
        return -2 * (weights * received * area_slope / area).sum(axis=1)

    factor = operators.factors(operator, omega, air)
    quadratic = np.stack([_twice(each, field) for each in operator.matrices], axis=1)
    exponents, edge_slope = _exponents(operator), _edge_slope(operator, omega, air)
    edges = np.column_stack([port.edge @ field for port in operator.ports])
    weight = np.array([port.edge_weight for port in operator.ports])
    loaded = 2 * (share * edge_slope * edges).sum(axis=1)
    stiffer = (factor * exponents * quadratic).sum(axis=1) / omega
    along = scale * (loaded - stiffer) + sizes(edge_slope * weight)
    along = along + (weights * received).sum(axis=1) / omega
    by_dimension = np.empty((len(derivatives), len(omega)), dtype=complex)
    coefficients = layer_coefficients(layer_thicknesses(omega, air)[0], operator.powers)
    edge_factor = operators.edge_factors(operator, omega, air)
    for found, slope in zip(by_dimension, derivatives, strict=True):
        stiffer = (factor * np.stack([_twice(each, field) for each in slope.matrices], axis=1)).sum(
            axis=1
        )
        bent = np.column_stack(
            [
                coefficients @ _power_slopes(port.edge_curvature, operator.powers)
                * moved.edge_curvature
                for port, moved in zip(operator.ports, slope.ports, strict=True)
            ]
        )  # fmt: skip
        surface = np.column_stack([moved.surface @ field for moved in slope.ports])
        edge = np.column_stack([moved.edge @ field for moved in slope.ports])
        loaded = 2 * (share * (surface + edge_factor * edge + bent * edges)).sum(axis=1)
        area_slope = (
            np.array([moved.area for moved in slope.ports])
            + edge_factor * np.array([moved.edge_weight for moved in slope.ports])
            + bent * weight
        )
        found[:] = scale * (loaded - stiffer) + sizes(area_slope)
        found += ended(by_radius) * slope.ports[1].edge_radius
    return Response(impedance, 2 * np.pi * along + ended(by_frequency), by_dimension)


def _twice(matrix: operators.Matrix, field: Complex) -> Complex:
    """ψᵀ M ψ at every frequency, for fields of shape (n, n_frequencies)."""
    return np.asarray((field * (matrix @ field)).sum(axis=0))


def _exponents(operator: AffineOperator) -> Real:
    """Powers of frequency that the factors of the matrices are."""
    layers = -np.arange(1, operator.powers + 1) / 2
    return np.concatenate([[0.0, 2.0], layers, 2 + layers])


def _edge_slope(operator: AffineOperator, omega: Complex, air: Air) -> Complex:
    """Derivative of `edge_factors` by angular frequency, shape (n, 2)."""
    count = operator.powers
    powers = layer_coefficients(layer_thicknesses(omega, air)[0], count)
    powers = powers * -np.arange(1, count + 1) / 2 / omega[:, None]
    curvatures = np.array([port.edge_curvature for port in operator.ports])
    return np.asarray(powers @ curvatures[None, :] ** np.arange(count)[:, None])


def _power_slopes(curvature: float, count: int) -> Real:
    """n κⁿ⁻¹ for n = 0 … count−1."""
    powers = np.arange(count)
    return np.where(powers > 0, powers * curvature ** np.maximum(powers - 1, 0.0), 0.0)
