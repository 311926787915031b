"""Flow fields for ParaView."""

from pathlib import Path

import numpy as np

from borestudy.fem import Floats
from borestudy.fem.vtu import write_vtu

from .convection import reference_functions
from .discretisation import Discretisation
from .problem import Problem, State
from .regime import Scale


def field_name(rate: float) -> str:
    """Name of the file with the field of a flow rate [m³/s]; no two rates of a study share one."""
    return f"{1e3 * rate:.12g}_L_per_s.vtu"


def at_nodes(space: Discretisation, vertices: Floats) -> Floats:
    """A linear field, given by its values at vertices, at the velocity's nodes, shape (n,)."""
    corners = vertices[space.pressure_basis.element_dofs]
    middles = 0.5 * (corners + np.roll(corners, -1, axis=0))
    values = np.zeros(space.nodes)
    values[space.velocity_basis.element_dofs] = np.concatenate([corners, middles])
    return values


def at_vertices(space: Discretisation, values: Floats) -> Floats:
    """Means around each vertex of values (E, Q) at quadrature points, weighted by its hat."""
    basis = space.pressure_basis
    hats = np.einsum("iq,eq->ieq", reference_functions(basis)[0], space.tables.weights)
    dofs = basis.element_dofs.ravel()
    sums = np.bincount(dofs, np.einsum("ieq,eq->ie", hats, values).ravel(), basis.N)
    return np.asarray(sums / np.bincount(dofs, hats.sum(axis=2).ravel(), basis.N))


def write_flow_field(path: Path, task: Problem, state: State, scale: Scale) -> None:
    """Write one state as a `.vtu` file in metres, m/s and Pa.

    A turbulence model's has its eddy viscosity over the air's own as well.
    """
    space = task.space
    nodal = scale.velocity * space.velocity(state.unknowns)
    data = {
        "velocity_m_per_s": np.column_stack([nodal.T, np.zeros(space.nodes)]),
        "speed_m_per_s": np.hypot(*nodal),
        "pressure_Pa": scale.pressure * at_nodes(space, space.pressure(state.unknowns)),
    }
    ratio = task.equations.viscosity_ratio(state.unknowns)
    if np.ndim(ratio):
        eddy = at_vertices(space, np.asarray(ratio) - 1)
        data["eddy_viscosity_ratio"] = at_nodes(space, eddy)
    basis = space.velocity_basis
    write_vtu(path, space.scale * basis.doflocs, basis.element_dofs, data)
