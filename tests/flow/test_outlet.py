"""The outlet holds zero pressure where air leaves and zero total pressure where it returns."""

import numpy as np
import pytest

from borestudy.flow.boundary import boundary_values, inlet_profile, outlet_pressure
from borestudy.flow.discretisation import discretise
from borestudy.flow.models.laminar import Laminar


@pytest.fixture
def task(strip):
    mesh = strip(lambda x: 0.5 + 0.1 * x, np.linspace(0, 2, 5), np.linspace(0, 1, 5))
    space = discretise(mesh, 1.0)
    return Laminar(1.0).problem(space, boundary_values(space, inlet_profile("developed", 0.5)))


def test_no_pressure_where_air_leaves_and_no_total_pressure_where_it_returns(task):
    nodes = task.space.velocity_basis.doflocs
    velocity = np.stack([0.5 - nodes[1], np.zeros(task.space.nodes)])
    speed = task.outlet.velocity(velocity[:1])[0]
    pressure = outlet_pressure(task.outlet, velocity)
    assert speed.min() < 0 < speed.max()
    np.testing.assert_array_equal(pressure[speed > 0], 0)
    np.testing.assert_allclose((pressure + speed**2 / 2)[speed < 0], 0, atol=1e-15)


def test_derivative_with_backflow_is_exact(task):
    random = np.random.default_rng(4)
    unknowns = random.standard_normal(task.space.unknowns)
    direction = np.zeros_like(unknowns)
    direction[task.boundary.free] = random.standard_normal(len(task.boundary.free))
    step = 1e-7
    above = task.residual(unknowns + step * direction, 50.0)
    below = task.residual(unknowns - step * direction, 50.0)
    exact = task.matrix(unknowns, 50.0) @ direction[task.boundary.free]
    change = ((above - below) / (2 * step))[task.free]
    np.testing.assert_allclose(change, exact, rtol=1e-5, atol=1e-6)
    # and with the unknowns the Reynolds number moves
    above = task.residual(unknowns + step * direction, 50.0 + step)
    below = task.residual(unknowns - step * direction, 50.0 - step)
    slope = task.residual_slope(unknowns, 50.0, direction)
    np.testing.assert_allclose((above - below) / (2 * step), slope, rtol=1e-5, atol=1e-6)
