"""What the working variable is given at the boundaries, and that it is carried without ripples."""

import numpy as np
import pytest
from scipy.sparse.linalg import spsolve

from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.problem import filled
from borestudy.flow.solver import prepare


def test_working_variable_is_3_at_the_rim_plane_and_0_on_the_wall(short_pipe):
    """3 to 5 times ν makes the model turbulent everywhere (Spalart & Rumsey 2007, AIAA J. 45)."""
    problem = prepare(SpalartAllmaras(), short_pipe(4), 1.0, "uniform")
    vertices = problem.space.pressure_basis
    rim = vertices.get_dofs("rim_plane").flatten()
    wall = vertices.get_dofs("wall").flatten()
    given = problem.boundary.values[problem.space.unknowns :]
    assert given[np.setdiff1d(rim, wall)] == pytest.approx(3.0)
    assert (given[wall] == 0).all()
    held = np.setdiff1d(np.arange(problem.equations.unknowns), problem.free)
    assert set(problem.space.unknowns + np.union1d(rim, wall)) <= set(held)


def test_a_jump_at_the_outlet_does_not_ripple_upstream(short_pipe):
    """χ = 3 carried at Reynolds number 1e6 to an outlet where it is held at 0.

    The layer there is 1e-6 thick and the triangles 0.1: Galerkin's method alone ripples along the
    whole pipe by as much as the jump, while the streamline term keeps the jump to the last
    triangles (Brooks & Hughes 1982, Comput. Methods Appl. Mech. Eng. 32, 199).  On the axis there
    is no vorticity, so that nothing else changes χ but the destruction, 4e-5 of it.  A tenth of
    the jump is allowed.
    """
    reynolds, count = 1e6, 5
    problem = prepare(SpalartAllmaras(), short_pipe(count), 1.0, "developed")
    equations = problem.equations
    flow, vertices = problem.space, problem.space.pressure_basis
    unknowns = np.zeros(equations.unknowns)
    unknowns[: flow.nodes] = 2 * (1 - 4 * flow.velocity_basis.doflocs[1] ** 2)
    outer = vertices.get_dofs({"rim_plane", "shank_end", "wall"}).flatten()
    own = np.arange(flow.unknowns, equations.unknowns)
    inner = np.delete(own, outer)
    unknowns[own] = 3.0
    unknowns[own[vertices.get_dofs({"shank_end", "wall"}).flatten()]] = 0.0
    for _ in range(30):
        residual = equations.residual(unknowns, reynolds)[inner]
        matrix = filled(equations.pattern, equations.jacobian_data(unknowns, reynolds))
        unknowns[inner] -= spsolve(matrix[inner][:, inner].tocsc(), residual)
        if np.abs(residual).max() < 1e-12:
            break
    assert np.abs(residual).max() < 1e-12
    x, r = vertices.doflocs
    axis = np.flatnonzero((r < 1e-9) & (x < 0.75))
    assert unknowns[own[axis]] == pytest.approx(3.0, rel=0.1)
