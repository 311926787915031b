"""Turbulent flow in a smooth pipe, and the equation of the working variable by itself."""

import numpy as np
import pytest
from fluids.friction import Prandtl_von_Karman_Nikuradse
from scipy.sparse.linalg import spsolve

from borestudy.flow.interpolation import velocity_at
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.models.spalart_allmaras.pointwise import CB2, SIGMA, source
from borestudy.flow.observables.lines import wall_line, wall_pressure, wall_shear, y_plus
from borestudy.flow.problem import filled
from borestudy.flow.solver import follow, prepare, solve_at

REYNOLDS = 1e4


@pytest.fixture(scope="module")
def developed(long_pipe):
    problem = prepare(SpalartAllmaras(), long_pipe(0.0025), 1.0, "uniform")
    return problem, follow(SpalartAllmaras(), problem, [REYNOLDS]).points[0]


def test_friction_of_a_smooth_pipe_is_that_of_prandtl_and_von_karman(developed):
    problem, state = developed
    assert state is not None
    chain = wall_line(problem.space)
    pressure = 2 * wall_pressure(problem.space, state, chain)
    inside = (chain.position[0] > 50) & (chain.position[0] < 75)
    slope = -np.polyfit(chain.position[0][inside], pressure[inside], 1)[0]
    assert slope == pytest.approx(Prandtl_von_Karman_Nikuradse(REYNOLDS), rel=0.04)


def test_wall_shear_balances_the_pressure_gradient(developed):
    """Force balance of developed flow: τ = D/4 dp/dx."""
    problem, state = developed
    chain = wall_line(problem.space)
    pressure = wall_pressure(problem.space, state, chain)
    inside = (chain.position[0] > 50) & (chain.position[0] < 75)
    slope = -np.polyfit(chain.position[0][inside], pressure[inside], 1)[0]
    shear = wall_shear(problem.space, state, chain)
    assert shear[inside[:-1]].mean() == pytest.approx(slope / 4, rel=0.01)
    assert y_plus(problem.space, state, chain)[inside[:-1]].max() < 2.0


def test_velocity_follows_the_law_of_the_wall(developed):
    """u⁺ = y⁺ below 3; u⁺ = 2.5 ln y⁺ + 5.5 from 40 on (Nikuradse 1932, measured in pipes)."""
    problem, state = developed
    chain = wall_line(problem.space)
    shear = wall_shear(problem.space, state, chain)
    middle = 0.5 * (chain.position[0, 1:] + chain.position[0, :-1])
    friction_velocity = np.sqrt(np.interp(65.0, middle, shear))
    heights = np.array([1.0, 3.0, 40.0, 60.0, 100.0])
    radius = 0.5 - heights / (friction_velocity * REYNOLDS)
    places = np.stack([np.full(5, 65.0), radius])
    speed = velocity_at(problem.space, state.unknowns, places)[0] / friction_velocity
    assert speed[:2] == pytest.approx(heights[:2], rel=0.02)
    assert speed[2:] == pytest.approx(2.5 * np.log(heights[2:]) + 5.5, rel=0.03)


def test_another_start_leads_to_the_same_solution(developed):
    """From a parabola everywhere with little eddy viscosity, which is no flow at all."""
    problem, state = developed
    flow = problem.space
    start = np.zeros_like(state.unknowns)
    start[: flow.nodes] = 2 * (1 - 4 * flow.velocity_basis.doflocs[1] ** 2)
    start[flow.unknowns :] = 20.0
    again = solve_at(problem, start, REYNOLDS, SpalartAllmaras.steps)
    assert again is not None
    assert np.abs(again.unknowns - state.unknowns).max() < 1e-5 * np.abs(state.unknowns).max()


def test_mass_flux_is_the_same_in_every_section(developed):
    """Long axial cells are where the flow between sections goes wrong without grad-div."""
    problem, state = developed
    radii = np.linspace(0, 0.5, 4001)
    middle = 0.5 * (radii[1:] + radii[:-1])
    for position in (10.3, 31.7, 70.1):
        places = np.stack([np.full(len(middle), position), middle])
        speed = velocity_at(problem.space, state.unknowns, places)[0]
        assert 8 * np.sum(speed * middle) * radii[1] == pytest.approx(1, abs=1e-4)


def test_working_variable_converges_at_the_order_of_linear_elements(short_pipe):
    """A manufactured solution in a given flow; the vertex values' error falls as h²."""
    reynolds, errors, counts = 50.0, [], (6, 12, 24)
    for count in counts:
        problem = prepare(SpalartAllmaras(), short_pipe(count), 1.0, "developed")
        equations, flow = problem.equations, problem.space
        place = flow.velocity_basis.doflocs
        unknowns = np.zeros(equations.unknowns)
        unknowns[: flow.nodes] = 2 * (1 - 4 * place[1] ** 2)
        vertices = flow.pressure_basis.doflocs
        exact = chosen(vertices)[0]
        points = np.asarray(flow.velocity_basis.global_coordinates())
        forced = equations.forced(manufactured_source(points, equations.points, reynolds))
        own = np.arange(flow.unknowns, equations.unknowns)
        outer = flow.pressure_basis.get_dofs({"rim_plane", "shank_end", "wall"}).flatten()
        inner = np.delete(own, outer)
        unknowns[own[outer]] = exact[outer]
        unknowns[inner] = 2.0
        for _ in range(12):
            residual = forced.residual(unknowns, reynolds)[inner]
            matrix = filled(equations.pattern, forced.jacobian_data(unknowns, reynolds))
            unknowns[inner] -= spsolve(matrix[inner][:, inner].tocsc(), residual)
            if np.abs(residual).max() < 1e-13:
                break
        errors.append(np.sqrt(np.mean((unknowns[own] - exact) ** 2)))
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert orders[-1] == pytest.approx(2.0, abs=0.25)


def chosen(place):
    """χ with its gradient and second derivatives (xx, rr): positive, zero slope on the axis."""
    x, r = place
    wave, fall = np.sin(2 * x), np.cos(2 * r)
    value = 4 + wave * fall + 8 * r**2
    gradient = np.stack([2 * np.cos(2 * x) * fall, -2 * wave * np.sin(2 * r) + 16 * r])
    second = np.stack([-4 * wave * fall, -4 * wave * fall + 16])
    return value, gradient, second


def manufactured_source(place, points, reynolds):
    """What the strong equation leaves of the chosen χ in parabolic flow."""
    value, gradient, second = chosen(place)
    radius = place[1]
    speed, vorticity = 2 * (1 - 4 * radius**2), 16 * radius
    laplacian = second[0] + second[1] + gradient[1] / radius
    steepness = np.sum(gradient**2, axis=0)
    diffusion = ((1 + value) * laplacian + (1 + CB2) * steepness) / (SIGMA * reynolds)
    return speed * gradient[0] + source(value, vorticity, points.distance, reynolds) - diffusion
