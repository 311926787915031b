"""Rows of triangles along walls that meet in an inner corner."""

import pytest

from borestudy.bore import Bore
from borestudy.bore.segment import line
from borestudy.mesh import read_mesh, turbulent, write_mesh


@pytest.mark.parametrize("level", [1, 2])
def test_rows_along_both_walls_of_an_inner_corner_do_not_run_into_each_other(tmp_path, level):
    """The more rows the finer the mesh; where they crossed, gmsh found no mesh."""
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
