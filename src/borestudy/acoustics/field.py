"""The pressure field at one frequency, for ParaView and for pictures."""

from pathlib import Path

import numpy as np
from skfem import MeshTri2

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import effective_areas, impedance_of, solve_at
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.walls import Complex, Walls
from borestudy.air import Air
from borestudy.fem.vtu import write_vtu


def pressure_field(
    mesh: MeshTri2, air: Air, frequency: float, termination: Termination, walls: Walls = "curved"
) -> Complex:
    """Pressure in the order of ``mesh.doflocs``, shape (n_nodes,), complex [Pa].

    It is scaled to a mean of 1 Pa over the rim plane.
    """
    omega = 2 * np.pi * frequency
    operator = assemble(mesh, walls, order=2)
    driven, _ = solve_at(operator, omega, air)
    matrix = impedance_of(operator, omega, air, driven[None])
    (inflow,) = termination.inflow(matrix, np.array([omega]), air)
    areas = effective_areas(operator, omega, air)[0]
    field = driven @ (np.array([1.0, inflow]) / areas)
    return np.asarray(field / (operator.ports[0].surface @ field / operator.ports[0].area))


def write_field(mesh: MeshTri2, pressure: Complex, path: str | Path) -> None:
    """Write real and imaginary part, magnitude and phase as point data of a ``.vtu``."""
    data = {
        "pressure_real_Pa": pressure.real,
        "pressure_imag_Pa": pressure.imag,
        "pressure_abs_Pa": np.abs(pressure),
        "pressure_phase_deg": np.degrees(np.angle(pressure)),
    }
    write_vtu(path, mesh.doflocs, mesh.dofs.element_dofs, data)
