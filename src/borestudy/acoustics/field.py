"""The pressure field at one frequency, for ParaView and for pictures."""

from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri2

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import effective_areas, impedance_of, solve_at
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.walls import Complex, Walls
from borestudy.air import Air
from borestudy.files import replacing


def pressure_field(
    mesh: MeshTri2, air: Air, frequency: float, termination: Termination, walls: Walls = "curved"
) -> Complex:
    """Pressure at the mesh's second-order nodes, scaled to a mean of 1 Pa over the rim plane.

    Returns
    -------
    ndarray, shape (n_nodes,), complex [Pa]
        In the order of ``mesh.doflocs``.
    """
    omega = 2 * np.pi * frequency
    operator = assemble(mesh, walls, order=2)
    driven, _ = solve_at(operator, omega, air)
    matrix = impedance_of(operator, omega, air, driven[None])
    (inflow,) = termination.inflow(matrix, np.array([omega]), air)
    areas = effective_areas(operator, omega, air)[0]
    field = driven @ (np.array([1.0, inflow]) / areas)
    return np.asarray(field / (operator.ports[0].surface @ field / operator.ports[0].area))


def linear_triangles(mesh: MeshTri2) -> NDArray[np.int64]:
    """Four straight triangles for every second-order one, shape (4 n_elements, 3)."""
    # corners, then middles of the edges 01, 12, 20
    parts = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
    return np.concatenate(mesh.dofs.element_dofs[parts].transpose(0, 2, 1))


def write_field(mesh: MeshTri2, pressure: Complex, path: str | Path) -> None:
    """Write real and imaginary part, magnitude and phase as point data of a ``.vtu``."""
    points = np.column_stack([mesh.doflocs.T, np.zeros(mesh.doflocs.shape[1])])
    field = meshio.Mesh(
        points,
        [("triangle", linear_triangles(mesh))],
        point_data={
            "pressure_real_Pa": pressure.real,
            "pressure_imag_Pa": pressure.imag,
            "pressure_abs_Pa": np.abs(pressure),
            "pressure_phase_deg": np.degrees(np.angle(pressure)),
        },
    )
    with replacing(path) as unfinished:
        field.write(unfinished)
