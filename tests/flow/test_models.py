"""Both models by one solver: alike where there is no eddy viscosity; derivatives and estimates."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.models.laminar import Laminar, creeping_flow
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.observables.sections import bore_sections, pressure_drop_slope, pressure_work
from borestudy.flow.problem import problem_of
from borestudy.flow.solver import prepare, solve_levels

REYNOLDS = [50.0, 200.0, 800.0]


@pytest.fixture(scope="module")
def constriction(strip):
    """From cells across, crowding towards the wall and depth to a mesh of a smooth constriction."""

    def made(cells, crowding=3.0, depth=0.2, along=4):
        fraction = 1 - np.linspace(0, 1, cells + 1)
        return strip(
            lambda x: 1 - depth * np.sin(np.pi * np.clip((x - 1) / 4, 0, 1)) ** 4,
            np.linspace(0, 6, along * cells + 1),
            1 - np.expm1(crowding * fraction) / np.expm1(crowding),
        )

    return made


@dataclass(frozen=True)
class WithoutEddyViscosity(SpalartAllmaras):
    """The Reynolds-averaged model with its working variable held at 0 everywhere."""

    def problem(self, space, boundary):
        equations = super().problem(space, boundary).equations
        values = np.zeros(equations.unknowns)
        values[: space.unknowns] = boundary.values
        return problem_of(space, equations, BoundaryValues(values, boundary.free))

    def beginnings(self, reynolds):
        return [reynolds]

    def own_start(self, problem, reynolds):
        held = problem.boundary
        flow = BoundaryValues(held.values[: problem.space.unknowns], held.free)
        start = creeping_flow(Laminar().problem(problem.space, flow), reynolds)
        return np.concatenate([start, held.values[problem.space.unknowns :]])


@pytest.mark.parametrize("inlet", ["uniform", "developed"])
def test_without_eddy_viscosity_the_averaged_equations_are_the_laminar_ones(constriction, inlet):
    """Two assemblies, from constant matrices and tables and from one pointwise function.

    Both leave residuals of 1e-8 at most; adjoints, and so estimates, are refined to 1e-6.
    """
    meshes = [constriction(cells, depth=0.5) for cells in (4, 6)]
    ladders = [
        solve_levels(model, meshes, 1.0, inlet, REYNOLDS)
        for model in (Laminar(), WithoutEddyViscosity())
    ]
    for laminar, averaged in zip(*ladders, strict=True):
        for index in range(len(REYNOLDS)):
            first, second = laminar.state(index), averaged.state(index)
            count = laminar.problem.space.unknowns
            size = np.abs(first.unknowns).max()
            assert np.abs(second.unknowns[:count] - first.unknowns).max() < 1e-6 * size
            assert not second.unknowns[count:].any()
            slopes = [
                pressure_drop_slope(level.problem, level.state(index), level.sections["rim_plane"])
                for level in (laminar, averaged)
            ]
            assert slopes[1] == pytest.approx(slopes[0], rel=1e-5)
            estimates = [
                level.goal_error.estimate(level.state(index)) for level in (laminar, averaged)
            ]
            assert estimates[1] == pytest.approx(estimates[0], rel=1e-3)


@pytest.mark.parametrize("model", [Laminar(), SpalartAllmaras()], ids=lambda model: model.name)
def test_matrix_with_a_pseudo_time_term_is_the_derivative_and_a_mass_matrix(constriction, model):
    problem = prepare(model, constriction(4), 1.0, "developed")
    random = np.random.default_rng(7)
    unknowns = problem.with_boundary_values(
        2 + 0.1 * random.standard_normal(problem.equations.unknowns)
    )
    change = np.zeros_like(unknowns)
    change[problem.free] = random.standard_normal(len(problem.free))
    exact = problem.matrix(unknowns, 300.0) @ change[problem.free]
    ahead, back = (problem.residual(unknowns + h * change, 300.0) for h in (1e-6, -1e-6))
    np.testing.assert_allclose(
        exact, ((ahead - back) / 2e-6)[problem.free], atol=1e-6 * np.abs(exact).max()
    )
    inverse_step = problem.inverse_step(unknowns, 10.0)
    term = (problem.matrix(unknowns, 300.0, inverse_step) @ change[problem.free] - exact) @ change[
        problem.free
    ]
    # the squared norm of what changes, each element weighted by its reciprocal step
    space, tables = problem.space, problem.space.tables
    fields = [field[tables.element_dofs] @ tables.functions for field in space.velocity(change)]
    linear = space.pressure_basis
    own = change[space.unknowns :].reshape(-1, linear.N)
    hats = np.array([linear.elem.lbasis(linear.quadrature[0], i)[0] for i in range(3)])
    fields += [field[linear.element_dofs.T] @ hats for field in own]
    squared = sum(field**2 for field in fields)
    assert term == pytest.approx(np.sum(inverse_step[:, None] * squared * tables.weights), rel=1e-9)


@pytest.fixture(scope="module")
def averaged(constriction):
    """The Reynolds-averaged flow on two meshes and on a finer one."""
    meshes = [constriction(cells) for cells in (12, 18, 40)]
    return solve_levels(SpalartAllmaras(), meshes, 1.0, "developed", [3000.0])


def work(level):
    """Work of the pressure between the two ends over the flux."""
    sections = bore_sections(level.problem, level.state(0), level.sections)
    return sections["rim_plane"].mixed_pressure - sections["shank_end"].mixed_pressure


def test_averaged_estimate_is_the_error_of_the_pressure_drop_within_a_third(averaged):
    """Against a mesh whose own error is a fourteenth of the first's and a sixth of the second's."""
    reference = work(averaged[-1])
    found = [level.goal_error.estimate(level.state(0)) for level in averaged[:2]]
    errors = [reference - work(level) for level in averaged[:2]]
    assert found[0] / errors[0] == pytest.approx(1, abs=1 / 3)
    assert found[1] / errors[1] == pytest.approx(1, abs=1 / 3)
    # and agrees with the step between the two
    assert (found[0] - found[1]) / (errors[0] - errors[1]) == pytest.approx(1, abs=1 / 3)


def test_averaged_adjoint_weighs_a_change_of_viscosity_as_the_tangent_carries_it(averaged):
    """Duality: both are the derivative of the work at the rim plane by the Reynolds number."""
    problem, state = averaged[0].problem, averaged[0].state(0)
    at_rest = np.zeros_like(state.unknowns)
    load = problem.residual_slope(state.unknowns, state.reynolds, at_rest)
    along = problem.residual_slope(state.unknowns, state.reynolds, state.tangent)
    by_tangent = pressure_work(problem, along, state)
    # both linear solves are refined to 1e-6
    assert state.adjoint @ load == pytest.approx(by_tangent, rel=1e-4)


def test_a_state_without_its_adjoint_has_no_estimate(averaged):
    with pytest.raises(ValueError, match="no adjoint"):
        averaged[0].goal_error.estimate(replace(averaged[0].state(0), adjoint=None))
