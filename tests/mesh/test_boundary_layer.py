"""Meshes with flat triangles along the wall."""

import numpy as np
import pytest
from skfem import Basis, ElementTriP2

from borestudy.bore import Bore, Entry, bore_from_dimensions, cylinder
from borestudy.bore.segment import line
from borestudy.mesh import TURBULENT, read_mesh, turbulent, write_mesh

DIAMETER = 3.66e-3


def heights(mesh, scale):
    """Height of the triangle at each wall edge, over the scale."""
    edges = mesh.boundaries["wall"]
    ends = mesh.p[:, mesh.facets[:, edges]]
    corners = mesh.p[:, mesh.t[:, mesh.f2t[0, edges]]]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(first[0] * second[1] - first[1] * second[0])
    return area / np.hypot(*(ends[:, 1] - ends[:, 0])) / scale


@pytest.mark.parametrize("level", [0, 1])
def test_first_row_is_as_high_as_asked_at_each_level(tmp_path, level):
    write_mesh(cylinder(DIAMETER / 2, 5 * DIAMETER), tmp_path / "pipe.msh", TURBULENT, level)
    found = heights(read_mesh(tmp_path / "pipe.msh"), DIAMETER)
    assert found == pytest.approx(TURBULENT.layer.first_height * 1.5 ** (1 - level), rel=0.01)


def test_first_cell_follows_the_reynolds_number():
    assert turbulent(24_000).layer.first_height == pytest.approx(
        turbulent(12_000).layer.first_height / 2
    )


def demonstration(entry):
    return bore_from_dimensions(
        length=88e-3,
        cup_diameter=16.2e-3,
        cup_depth=10.8e-3,
        cup_shape=0.6,
        throat_diameter=DIAMETER,
        throat_length=5e-3,
        entry=entry,
        backbore_end_diameter=9e-3,
        backbore_taper="straight",
    )


@pytest.mark.parametrize(
    "bore",
    [
        demonstration(Entry("square", (), 0.0)),
        demonstration(Entry("rounded", (0.25e-3,), 0.0)),
        demonstration(Entry("rounded", (2e-3,), 0.0)),
        demonstration(Entry("chamfered", (0.5e-3,), 0.5)),
        Bore(
            [
                line((0.0, 6e-3), (5e-3, 6e-3), "cup"),
                line((5e-3, 6e-3), (5e-3, 2e-3), "cup"),
                line((5e-3, 2e-3), (15e-3, 2e-3), "throat"),
                line((15e-3, 2e-3), (30e-3, 4e-3), "backbore"),
            ]
        ),
    ],
    ids=["square", "tight", "round", "chamfer", "step"],
)
def test_a_boundary_layer_mesh_turns_no_triangle_inside_out(tmp_path, bore):
    write_mesh(bore, tmp_path / "bore.msh", TURBULENT, 0)
    mesh = read_mesh(tmp_path / "bore.msh")
    basis = Basis(mesh.scaled(1 / DIAMETER), ElementTriP2(), intorder=6)
    determinant = basis.mapping.detDF(basis.quadrature[0])
    assert (np.sign(determinant) == np.sign(determinant[:, :1])).all()
    area = float(np.sum(np.abs(determinant) * basis.quadrature[1]))
    stations = [segment(np.linspace(0, 1, 2001)) for segment in bore.segments]
    exact = sum(np.trapezoid(points[:, 1], points[:, 0]) for points in stations) / DIAMETER**2
    assert area == pytest.approx(exact, rel=1e-4)
