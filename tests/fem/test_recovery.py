"""Recovered fields: exact where they must be, continuous, and what they come from otherwise."""

import numpy as np
import pytest
from skfem import Basis, ElementTriP1, ElementTriP2, ElementTriP3, MeshTri

from borestudy.fem.recovery import embedding, recovery


@pytest.fixture
def mesh():
    """Triangles of a square, moved so that no two are alike, four times as long as wide."""
    regular = MeshTri().refined(3)
    inside = np.setdiff1d(np.arange(regular.nvertices), regular.boundary_nodes())
    moved = regular.p.copy()
    moved[:, inside] += 0.03 * np.random.default_rng(1).uniform(-1, 1, (2, len(inside)))
    moved[0] *= 4
    return MeshTri(moved, regular.t)


def cubic(x):
    return 1 + x[0] - x[1] ** 2 + x[0] * x[1] ** 2 - 0.3 * x[0] ** 3 + x[1] ** 3


def quadratic(x):
    return 2 - x[0] + x[1] * x[0] + 0.1 * x[0] ** 2 - x[1] ** 2


def test_a_cubic_is_recovered_from_its_values_at_quadratic_nodes(mesh):
    source = Basis(mesh, ElementTriP2(), intorder=6)
    target = source.with_element(ElementTriP3())
    found = recovery(source, target, 3) @ cubic(source.doflocs)
    np.testing.assert_allclose(found, cubic(target.doflocs), atol=1e-6)


def test_a_quadratic_is_recovered_from_its_values_at_vertices(mesh):
    source = Basis(mesh, ElementTriP1(), intorder=6)
    target = source.with_element(ElementTriP2())
    found = recovery(source, target, 2) @ quadratic(source.doflocs)
    np.testing.assert_allclose(found, quadratic(target.doflocs), atol=1e-6)


@pytest.mark.parametrize(
    ("low", "high"), [(ElementTriP2(), ElementTriP3()), (ElementTriP1(), ElementTriP2())]
)
def test_an_embedded_field_is_the_same_field(mesh, low, high):
    source = Basis(mesh, low, intorder=6)
    target = source.with_element(high)
    values = np.random.default_rng(2).standard_normal(source.N)
    embedded = target.interpolate(embedding(source, target) @ values)
    np.testing.assert_allclose(
        np.asarray(embedded), np.asarray(source.interpolate(values)), atol=1e-12
    )
