"""The weighted residual against the error it estimates, the adjoint against the tangent."""

import numpy as np
import pytest

from borestudy.flow.models.laminar import Laminar
from borestudy.flow.observables.sections import bore_sections, pressure_work
from borestudy.flow.solver import solve_levels


@pytest.fixture(scope="module")
def smooth_constriction(strip):
    """From the number of cells across to the solved level, at a Reynolds number."""

    def radius(x):
        return 1 - 0.5 * np.sin(np.pi * np.clip((x - 1) / 4, 0, 1)) ** 4

    def solved(cells, reynolds):
        mesh = strip(radius, np.linspace(0, 8, 8 * cells + 1), np.linspace(0, 1, cells + 1))
        return solve_levels(Laminar(), [mesh], 1.0, "developed", [reynolds])[0]

    return solved


def work(level):
    sections = bore_sections(level.problem, level.states[0], level.sections)
    return sections["rim_plane"].mixed_pressure - sections["shank_end"].mixed_pressure


def test_the_estimate_approaches_the_error_of_the_pressure_drop_as_the_mesh_gets_finer(
    smooth_constriction,
):
    """The error from the same flow on a mesh whose own is a hundredth of the finest tested."""
    reference = work(smooth_constriction(32, 50.0))
    effectivity = []
    for cells in (4, 6, 8, 12):
        level = smooth_constriction(cells, 50.0)
        estimate = level.goal_error.estimate(level.states[0])
        effectivity.append(estimate / (reference - work(level)))
    # with the error's fourth order there are 2 % of it left in the reference at 12 cells
    assert np.all(np.diff(effectivity) > 0)
    assert effectivity[0] == pytest.approx(1, abs=0.3)
    assert effectivity[-1] == pytest.approx(1, abs=0.04)


def test_an_under_resolved_flow_is_seen_as_one(smooth_constriction):
    """At a Reynolds number eight times as high: the error's sign, and a fifth to all of it."""
    reference = work(smooth_constriction(24, 400.0))
    for cells in (4, 8, 12):
        level = smooth_constriction(cells, 400.0)
        estimate = level.goal_error.estimate(level.states[0])
        assert 0.15 < estimate / (reference - work(level)) < 1


def test_the_adjoint_weighs_a_change_of_viscosity_as_the_tangent_carries_it(smooth_constriction):
    """Duality: both are the derivative of the work at the rim plane by the Reynolds number."""
    level = smooth_constriction(6, 100.0)
    task, state = level.problem, level.states[0]
    space = task.space
    load = np.zeros(space.unknowns)
    flat = state.unknowns[: 2 * space.nodes]
    load[: 2 * space.nodes] = -space.viscous @ flat / state.reynolds**2
    by_adjoint = state.adjoint @ load
    along = task.residual_slope(state.unknowns, state.reynolds, state.tangent)
    by_tangent = pressure_work(task, along, state)
    # both linear solves are refined to 1e-6
    assert by_adjoint == pytest.approx(by_tangent, rel=1e-4)


def test_an_exact_solution_has_no_error_left(strip):
    """Developed flow in a pipe is in the space of the elements."""
    mesh = strip(lambda x: 0.5 + 0 * x, np.linspace(0, 4, 9), np.linspace(0, 1, 5))
    level = solve_levels(Laminar(), [mesh], 1.0, "developed", [200.0])[0]
    assert abs(level.goal_error.estimate(level.states[0])) < 1e-7 * work(level)
