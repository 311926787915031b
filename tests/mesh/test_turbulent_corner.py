"""Boundary-layer meshes along walls that meet in an inner corner."""

import numpy as np
import pytest

from borestudy.bore import Bore
from borestudy.bore.segment import line
from borestudy.mesh import TURBULENT, TURBULENT_PLAIN, read_mesh, turbulent, write_mesh
from borestudy.mesh.outline import boundary_layer_fits


@pytest.mark.parametrize("level", [1, 2])
def test_boundary_layer_meshes_of_an_inner_corner_do_not_run_into_each_other(tmp_path, level):
    """A finer level has more layers of cells; where they crossed, gmsh found no mesh."""
    bore = Bore(
        [
            line((0.0, 1.5), (4.0, 1.5), "cup"),
            line((4.0, 1.5), (4.0, 0.5), "cup"),
            line((4.0, 0.5), (7.0, 0.5), "throat"),
            line((7.0, 0.5), (9.0, 0.8), "backbore"),
        ]
    )
    path = tmp_path / "step.msh"
    write_mesh(bore, path, turbulent(1e4), level)
    mesh = read_mesh(path)
    corner = (abs(mesh.p[0] - 4.0) < 1e-9) & (abs(mesh.p[1] - 1.5) < 1e-9)
    assert corner.sum() == 1


def stepped(height: float) -> Bore:
    """A tube whose wall steps outward by a height, in tube diameters."""
    return Bore(
        [
            line((0.0, 0.5), (3.0, 0.5), "throat"),
            line((3.0, 0.5), (3.0, 0.5 + height), "backbore"),
            line((3.0, 0.5 + height), (6.0, 0.7), "backbore"),
        ]
    )


def test_a_boundary_layer_mesh_does_not_fit_past_a_step_lower_than_it_is_thick(tmp_path):
    assert boundary_layer_fits(stepped(0.15), TURBULENT)
    assert not boundary_layer_fits(stepped(0.01), TURBULENT)
    assert boundary_layer_fits(stepped(0.01), TURBULENT_PLAIN)


def test_plain_triangles_follow_a_low_step(tmp_path):
    path = tmp_path / "step.msh"
    write_mesh(stepped(0.01), path, TURBULENT_PLAIN, 0)
    mesh = read_mesh(path)
    for radius in (0.5, 0.51):
        at_corner = np.hypot(mesh.p[0] - 3.0, mesh.p[1] - radius) < 1e-9
        assert at_corner.sum() == 1
