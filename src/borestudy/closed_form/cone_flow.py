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
    """The exact flow in a cone with its apex on the axis.

    Attributes
    ----------
    half_angle : float
        Angle between axis and wall [rad].
    apex : float
        Axial position of the apex [m].
    flow_rate : float
        Flow rate, positive along the axis [m³/s].
    viscosity : float
        Dynamic viscosity [Pa s].
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
        """The constant C [m³/s]."""
        edge = np.cos(self.half_angle)
        source = self.flow_rate if self.widening else -self.flow_rate
        return float(3 * source / (2 * np.pi * (1 - edge) ** 2 * (1 + 2 * edge)))

    def velocity(self, position: NDArray[np.float64]) -> NDArray[np.float64]:
        """Axial and radial velocity [m/s] at (x, r) [m], shape (2, n) to (2, n)."""
        from_apex = np.stack([position[0] - self.apex, position[1]])
        distance = np.hypot(*from_apex)
        shape = (from_apex[0] / distance) ** 2 - np.cos(self.half_angle) ** 2
        return np.asarray(self.strength * shape / distance**3 * from_apex)

    def pressure(self, position: NDArray[np.float64]) -> NDArray[np.float64]:
        """Pressure [Pa] at (x, r) [m], zero far from the apex."""
        axial, distance = position[0] - self.apex, np.hypot(position[0] - self.apex, position[1])
        scale = 2 * self.viscosity * self.strength / 3
        return np.asarray(scale * (3 * (axial / distance) ** 2 - 1) / distance**3)

    def dissipation(self, first: float, last: float) -> float:
        """Power dissipated [W] between the plane sections at two axial positions [m].

        The rates of strain v', v/ϱ, v/ϱ and half of ∂v/∂t/ϱ of a radial flow are integrated
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
