"""Boundary values of the flow: what comes in at the rim plane, what the walls and the outlet hold.

At the shank end the radial velocity is zero and the axial traction is given by
:mod:`borestudy.flow.outlet`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from borestudy.fem import Floats, Ints

from .discretisation import Discretisation
from .edges import edge_tables

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
    """The velocity over the rim plane: one mean velocity, or the parabola of a long pipe."""
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
    basis = space.velocity_basis
    nodes = space.nodes
    values = np.zeros((2, nodes))
    fixed = np.zeros((2, nodes), dtype=bool)
    wall = basis.get_dofs("wall").flatten()

    def prescribe(boundary: str, profile: Profile) -> None:
        here = basis.get_dofs(boundary).flatten()
        velocity = np.zeros((2, nodes))
        velocity[:, here] = profile(basis.doflocs[:, here])
        velocity[:, wall] = 0
        velocity *= SCALED_FLUX / section_flux(space, velocity[0], boundary)
        values[:, here] = velocity[:, here]
        fixed[:, here] = True

    prescribe("rim_plane", inlet)
    end = basis.get_dofs("shank_end").flatten()
    fixed[1, end] = True
    if outlet is not None:
        prescribe("shank_end", outlet)
    fixed[1, basis.get_dofs("axis").flatten()] = True
    fixed[:, wall] = True
    values[:, wall] = 0
    values[1, basis.get_dofs("axis").flatten()] = 0
    free = np.flatnonzero(~fixed.ravel())
    pressures = np.arange(2 * nodes, space.unknowns)
    if outlet is not None:
        pinned = space.pressure_basis.get_dofs("shank_end").flatten()[0]
        pressures = np.delete(pressures, pinned)
    whole = np.zeros(space.unknowns)
    whole[: 2 * nodes] = values.ravel()
    return BoundaryValues(whole, np.concatenate([free, pressures]), outlet is None)


def section_flux(space: Discretisation, axial: Floats, boundary: str) -> float:
    """Integral of u r dr of a nodal axial velocity over a named section."""
    tables = edge_tables(space, space.mesh.boundaries[boundary])
    return float(np.sum(tables.velocity(axial[None])[0] * tables.weights))
