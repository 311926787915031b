r"""Boundary values: what comes in at the rim plane, what the walls and the free outlet hold.

At the shank end the radial velocity is zero and, where air leaves, the axial traction.  A jet that
has not spread there draws air in beside it.  With zero pressure over the whole outlet that inflow
brings in any kinetic energy it likes, and beyond some flow rate the linearised problem loses its
footing there.  Air drawn from rest outside has zero *total* pressure,

.. math:: p = -\tfrac12 u_x^2 \quad\text{where } u_x < 0,

which adds :math:`-\tfrac12 \int_{u_x<0} u_x^2 v_x\, r\,ds` to the left side of the weak form
(directional do-nothing condition: Braack & Mucha 2014, J. Comput. Math. 32, 507).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from borestudy.fem import Floats, Ints

from .discretisation import Discretisation
from .edges import EdgeTables, edge_tables

Inlet = Literal["uniform", "developed"]
#: Axial and radial velocity [throat mean velocities] at scaled positions, shape (2, n) to (2, n).
Profile = Callable[[Floats], Floats]
#: Scaled flux through any section, the integral of u r dr, with throat diameter and velocity 1.
SCALED_FLUX = 1 / 8


@dataclass(frozen=True)
class BoundaryValues:
    """Prescribed unknowns.

    Attributes
    ----------
    values : ndarray, shape (unknowns,)
        The prescribed values, zero elsewhere.
    free : ndarray of int
        Unknowns that are solved for.
    free_outlet : bool
        Whether the axial velocity at the shank end is among them.
    """

    values: Floats
    free: Ints
    free_outlet: bool = True


def inlet_profile(inlet: Inlet, rim_radius: float) -> Profile:
    """The velocity over the rim plane: one mean velocity, or the parabola of a long pipe.

    `rim_radius` is scaled by the throat diameter.

    Raises
    ------
    ValueError
        If the inlet is another word.
    """
    mean = SCALED_FLUX / (rim_radius**2 / 2)

    def uniform(position: Floats) -> Floats:
        return np.stack([np.full(position.shape[1], mean), np.zeros(position.shape[1])])

    def developed(position: Floats) -> Floats:
        axial = 2 * mean * (1 - (position[1] / rim_radius) ** 2)
        return np.stack([axial, np.zeros(position.shape[1])])

    profiles: dict[str, Profile] = {"uniform": uniform, "developed": developed}
    if inlet not in profiles:
        raise ValueError(f"inlet: found {inlet!r}; allowed are {', '.join(profiles)}")
    return profiles[inlet]


def boundary_values(
    space: Discretisation, inlet: Profile, outlet: Profile | None = None
) -> BoundaryValues:
    """Values on walls, axis, rim plane and shank end.

    Parameters
    ----------
    space : Discretisation
        Finite-element space of the unknowns.
    inlet : callable
        Velocity at the rim plane.  It is scaled so that the discrete flux is exactly one
        throat mean velocity: a uniform profile loses a little where the wall holds it back.
    outlet : callable, optional
        Velocity at the shank end, likewise scaled, where the exact flow is known; the mean
        pressure is then fixed by one value.  By default the outlet is free.
    """
    basis, nodes = space.velocity_basis, space.nodes
    values = np.zeros((2, nodes))
    fixed = np.zeros((2, nodes), dtype=bool)
    wall, axis, end = (basis.get_dofs(name).flatten() for name in ("wall", "axis", "shank_end"))

    def prescribe(boundary: str, profile: Profile) -> None:
        here = basis.get_dofs(boundary).flatten()
        velocity = np.zeros((2, nodes))
        velocity[:, here] = profile(basis.doflocs[:, here])
        velocity[:, wall] = 0
        velocity *= SCALED_FLUX / section_flux(space, velocity[0], boundary)
        values[:, here] = velocity[:, here]
        fixed[:, here] = True

    prescribe("rim_plane", inlet)
    pressures = np.arange(2 * nodes, space.unknowns)
    if outlet is not None:
        prescribe("shank_end", outlet)
        pinned = space.pressure_basis.get_dofs("shank_end").flatten()[0]
        pressures = np.delete(pressures, pinned)
    fixed[1, end] = fixed[1, axis] = fixed[:, wall] = True
    values[:, wall] = values[1, axis] = 0
    whole = np.zeros(space.unknowns)
    whole[: 2 * nodes] = values.ravel()
    free = np.concatenate([np.flatnonzero(~fixed.ravel()), pressures])
    return BoundaryValues(whole, free, outlet is None)


def section_flux(space: Discretisation, axial: Floats, boundary: str) -> float:
    """Integral of u r dr of a nodal axial velocity over a named section."""
    tables = edge_tables(space, space.mesh.boundaries[boundary])
    return float(np.sum(tables.velocity(axial[None])[0] * tables.weights))


def outlet_pressure(tables: EdgeTables, velocity: Floats) -> Floats:
    """Scaled pressure that the outlet holds at its quadrature points, shape (F, q)."""
    return -0.5 * np.minimum(tables.velocity(velocity[:1])[0], 0) ** 2


def outlet_residual(tables: EdgeTables, velocity: Floats) -> Floats:
    """The outlet's term against the axial test functions, shape (n,)."""
    local = outlet_pressure(tables, velocity) * tables.weights
    entries = np.einsum("fq,fqi->fi", local, tables.functions)
    nodes = tables.velocity_dofs.ravel()
    total = np.bincount(nodes, entries.ravel(), minlength=velocity.shape[1])
    return np.asarray(total, dtype=float)


def outlet_derivative(tables: EdgeTables, velocity: Floats) -> Floats:
    """Its derivative by the axial velocity, axial test by trial, shape (F, 6, 6)."""
    slope = -np.minimum(tables.velocity(velocity[:1])[0], 0) * tables.weights
    return np.einsum("fq,fqi,fqj->fij", slope, tables.functions, tables.functions, optimize=True)
