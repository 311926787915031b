r"""The budget of mechanical energy: how much of it the flow loses, and in which part of the bore.

Between the rim plane and any section downstream the mechanical energy head falls by exactly

.. math:: \frac{2}{Re} \int (1 + \nu_t/\nu)
          \Big( e(u):e(u) + \frac{u_r^2}{r^2} \Big) r\,dx\,dr

of the fluid between them (Bird, Stewart & Lightfoot 2002, eq. 7.4-2): viscous stress does no work
on the two end planes, where the radial velocity is zero.  In laminar flow that is the dissipation.
In a Reynolds-averaged flow it is what the mean flow loses, the dissipation by its own gradients and
with :math:`\nu_t` what it passes on to turbulence (Tennekes & Lumley 1972, eq. 3.2.1), which
dissipates it.  What does not close is energy that the discretisation takes or gives.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.boundary import SCALED_FLUX
from borestudy.flow.convection import velocity_and_gradient
from borestudy.flow.problem import Problem, State

from .sections import RIM_PLANE, SHANK_END, SectionMeasures


@dataclass(frozen=True)
class ScaledBudget:
    """Scaled heads: what the flow loses from rim plane to shank end, and where.

    `loss` is the fall of mechanical energy, `dissipation` the total by viscosity and `by_part` its
    share in each named part; `imbalance` is (loss − dissipation) / dissipation.
    """

    loss: float
    dissipation: float
    by_part: dict[str, float]
    kinetic_rise: float

    @property
    def imbalance(self) -> float:
        """What of the loss is not dissipated, as a share of what is."""
        return (self.loss - self.dissipation) / self.dissipation


def dissipation(task: Problem, state: State) -> Floats:
    """Head dissipated at each quadrature point, scaled, shape (E, Q): its sum is what is lost."""
    space = task.space
    value, gradient = velocity_and_gradient(space.tables, space.velocity(state.unknowns))
    radius = np.asarray(space.velocity_basis.global_coordinates())[1]
    shear = gradient[0, 1] + gradient[1, 0]
    rate = gradient[0, 0] ** 2 + gradient[1, 1] ** 2 + 0.5 * shear**2 + (value[1] / radius) ** 2
    rate = rate * task.equations.viscosity_ratio(state.unknowns)
    return np.asarray(2 / state.reynolds * rate * space.tables.weights / SCALED_FLUX)


def energy_budget(
    task: Problem,
    state: State,
    measures: Mapping[str, SectionMeasures],
    parts: Mapping[str, tuple[float, float]] | None = None,
) -> ScaledBudget:
    """Close the mechanical-energy balance over the whole bore, by the measures of both ends.

    `parts` has the scaled axial start and end of each part.  By default the parts are those that
    the mesh names; one with a boundary layer past an oblique edge draws no line where a part ends.
    """
    each = dissipation(task, state)
    rim, end = measures[RIM_PLANE], measures[SHANK_END]
    if parts is None:
        named = (task.space.mesh.subdomains or {}).items()
        by_part = {name: each[of].sum() for name, of in named if not name.startswith("gmsh:")}
    else:
        place = np.asarray(task.space.velocity_basis.global_coordinates())[0]
        by_part = {name: each[(place >= a) & (place < b)].sum() for name, (a, b) in parts.items()}
    rise = (end.head - end.mixed_pressure) - (rim.head - rim.mixed_pressure)
    shares = {name: float(share) for name, share in by_part.items()}
    return ScaledBudget(rim.head - end.head, float(each.sum()), shares, rise)
