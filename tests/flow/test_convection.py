"""The tables of convection against the forms they stand for, and the exact derivative."""

import numpy as np
import pytest
from skfem import BilinearForm

from borestudy.flow.convection import convection_derivative
from borestudy.flow.discretisation import discretise
from borestudy.flow.problem import filled


@pytest.fixture
def space(strip, grade):
    mesh = strip(lambda x: 0.5 + 0.3 * x + 0.2 * x**2, grade(0, 1.0, 6), grade(0, 1, 4))
    return discretise(mesh, 1.0)


def test_jacobian_is_the_derivative_of_the_residual(space):
    random = np.random.default_rng(1)
    unknowns, direction = random.standard_normal((2, space.unknowns))
    step = 1e-5
    above = space.residual(unknowns + step * direction, 50.0, 0.7)
    below = space.residual(unknowns - step * direction, 50.0, 0.7)
    exact = filled(space.pattern, space.jacobian_data(unknowns, 50.0, 0.7)) @ direction
    # the residual is quadratic in the unknowns, so the central difference has no truncation error
    np.testing.assert_allclose((above - below) / (2 * step), exact, rtol=1e-7, atol=1e-8)


@pytest.mark.parametrize(("block", "test", "trial"), [(0, 0, 0), (1, 0, 1), (2, 1, 0), (3, 1, 1)])
def test_table_assembly_equals_the_linearised_form_on_paper(space, block, test, trial):
    basis = space.velocity_basis
    velocity = np.random.default_rng(2).standard_normal((2, space.nodes))

    @BilinearForm
    def linearised(u, v, w):
        flow = (w["axial"], w["radial"])
        carried = flow[0] * u.grad[0] + flow[1] * u.grad[1] if test == trial else 0.0
        return (carried + u * flow[test].grad[trial]) * v * w.x[1]

    expected = linearised.assemble(
        basis, axial=basis.interpolate(velocity[0]), radial=basis.interpolate(velocity[1])
    )
    elements = convection_derivative(space.tables, velocity)[block].reshape(-1, 6, 6)
    dofs = space.tables.element_dofs
    dense = np.zeros((space.nodes, space.nodes))
    np.add.at(dense, (dofs[:, :, None], dofs[:, None, :]), elements)
    np.testing.assert_allclose(dense, expected.toarray(), atol=1e-13)


def test_pattern_holds_every_block_in_its_place(space):
    entries = space.jacobian_data(np.zeros(space.unknowns), 10.0, 0.7)
    jacobian = filled(space.pattern, entries).toarray()
    nodes = 2 * space.nodes
    viscous = space.viscous.toarray() / 10.0 + 0.7 * space.grad_div.toarray()
    np.testing.assert_allclose(jacobian[:nodes, :nodes], viscous, atol=1e-14)
    np.testing.assert_allclose(jacobian[nodes:, :nodes], space.divergence.toarray(), atol=1e-14)
    np.testing.assert_allclose(jacobian[:nodes, nodes:], space.divergence.T.toarray(), atol=1e-14)
    assert not jacobian[nodes:, nodes:].any()
