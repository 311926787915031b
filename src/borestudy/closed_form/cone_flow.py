r"""Creeping flow of a source or sink in a cone, exact.

In spherical coordinates :math:`(\varrho, t)` about the apex, half angle :math:`t_0`,
:math:`z_0 = \cos t_0`, with the source strength :math:`Q` (negative towards the apex),

.. math::
   v_\varrho = C\,\frac{\cos^2 t - z_0^2}{\varrho^2}, \qquad
   p = \frac{2\mu C}{3}\,\frac{3\cos^2 t - 1}{\varrho^3}, \qquad
   C = \frac{3Q}{2\pi (1-z_0)^2 (1 + 2 z_0)},

which satisfies the Stokes equations and no slip exactly (Harrison 1919, Proc. Camb. Phil. Soc.
19, 307; the constants were derived anew).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad


@dataclass(frozen=True)
class CreepingCone:
    """The exact flow in a cone with its apex on the axis at `apex`.

    Attributes
    ----------
    half_angle : float
        [rad].
    apex : float
        Axial position of the apex [m].
    flow_rate : float
        Positive along the axis [m³/s].
    viscosity : float
        [Pa s].
    widening : bool
        Whether the cone opens along the axis.
    """

    half_angle: float
    apex: float
    flow_rate: float
    viscosity: float
    widening: bool = True

    @property
    def strength(self) -> float:
        """C [m³/s]."""
        edge = np.cos(self.half_angle)
        source = self.flow_rate if self.widening else -self.flow_rate
        return float(3 * source / (2 * np.pi * (1 - edge) ** 2 * (1 + 2 * edge)))

    def _distance(
        self, position: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        axial = position[0] - self.apex
        distance = np.hypot(axial, position[1])
        return axial, distance, np.abs(axial) / distance

    def velocity(self, position: NDArray[np.float64]) -> NDArray[np.float64]:
        """Axial and radial velocity [m/s] at (x, r) [m], shape (2, n) to (2, n)."""
        axial, distance, cosine = self._distance(position)
        radial_speed = self.strength * (cosine**2 - np.cos(self.half_angle) ** 2) / distance**2
        return np.stack([radial_speed * axial / distance, radial_speed * position[1] / distance])

    def pressure(self, position: NDArray[np.float64]) -> NDArray[np.float64]:
        """Pressure [Pa] at (x, r) [m], zero far from the apex."""
        _, distance, cosine = self._distance(position)
        scale = 2 * self.viscosity * self.strength / 3
        return np.asarray(scale * (3 * cosine**2 - 1) / distance**3)

    def mean_pressure(self, axial: float) -> float:
        """Area mean of the pressure [Pa] over the plane section at x [m].

        With :math:`h = |x - x_0|` and :math:`\\varrho^2 = h^2 + r^2` the mean of
        :math:`(3h^2/\\varrho^2 - 1)/\\varrho^3` over the section is elementary:
        :math:`2 [h^2 (h^{-3} - R^{-3}) - (h^{-1} - R^{-1})] / (h\\tan t_0)^2`, with the slant
        distance :math:`R` of the wall.
        """
        height = abs(axial - self.apex)
        slant = height / np.cos(self.half_angle)
        area = (height * np.tan(self.half_angle)) ** 2 / 2
        integral = height**2 * (height**-3 - slant**-3) - (1 / height - 1 / slant)
        return float(2 * self.viscosity * self.strength / 3 * integral / area)

    def dissipation(self, first: float, last: float) -> float:
        """Power dissipated [W] between the plane sections at two axial positions [m].

        From the rates of strain v', v/ϱ, v/ϱ and half of ∂v/∂t/ϱ of a radial flow, integrated
        over the distance from the apex in closed form and over the angle by quadrature.
        """
        edge = np.cos(self.half_angle)

        def density(angle: float) -> float:
            shape = np.cos(angle) ** 2 - edge**2
            slope = -np.sin(2 * angle)
            # 2 μ e:e ϱ² integrated over ϱ from first/cos to last/cos: the integrand is ~ ϱ⁻⁴
            strain = 12 * shape**2 + slope**2
            near, far = (abs(x - self.apex) / np.cos(angle) for x in (first, last))
            return float(strain * abs(near**-3 - far**-3) / 3 * np.sin(angle))

        angular = quad(density, 0, self.half_angle, epsabs=0, epsrel=1e-12)[0]
        return float(2 * np.pi * self.viscosity * self.strength**2 * angular)


def lubrication_drop(
    viscosity: float, half_angle: float, first_radius: float, last_radius: float, flow_rate: float
) -> float:
    """Pressure drop [Pa] of creeping flow in a slender cone.

    8 μ Q / (3 π tan t₀) · (R₁⁻³ − R₂⁻³), in error by a share of order tan² t₀.
    """
    spread = first_radius**-3 - last_radius**-3
    return 8 * viscosity * flow_rate * spread / (3 * np.pi * np.tan(half_angle))
