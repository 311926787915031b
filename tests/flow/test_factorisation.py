"""The flow's saddle point is solved alike in every order of elimination."""

import numpy as np
import pytest
from scipy.linalg import hilbert
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from borestudy.fem.krylov import gmres
from borestudy.fem.sparse import PIVOT_THRESHOLD, factoriser
from borestudy.flow.boundary import boundary_values, inlet_profile
from borestudy.flow.discretisation import discretise
from borestudy.flow.models.laminar import Laminar, creeping_flow
from borestudy.flow.problem import elimination_order


@pytest.fixture
def task(strip):
    mesh = strip(lambda x: 0.5 + 0.1 * x, np.linspace(0, 2, 9), np.linspace(0, 1, 5))
    space = discretise(mesh, 1.0)
    return Laminar(1.0).problem(space, boundary_values(space, inlet_profile("developed", 0.5)))


@pytest.mark.parametrize("transposed", [False, True])
def test_dissection_and_column_ordering_solve_the_saddle_point_alike(task, transposed):
    unknowns = creeping_flow(task, 100.0)
    matrix = task.matrix(unknowns, 100.0)
    load = np.random.default_rng(3).standard_normal((matrix.shape[0], 2))
    first = task.factorise(matrix)(load, transposed)
    second = splu(matrix, permc_spec="COLAMD").solve(load, "T" if transposed else "N")
    np.testing.assert_allclose(first, second, rtol=1e-8, atol=1e-9 * np.abs(second).max())


def test_one_analysis_serves_several_matrices(task):
    unknowns = creeping_flow(task, 100.0)
    prepare = factoriser(task.pattern, np.arange(task.pattern.shape[0])[::-1])
    load = np.ones(task.pattern.shape[0])
    solves = [prepare(task.matrix(unknowns, reynolds)) for reynolds in (10.0, 100.0)]
    for solve, reynolds in zip(solves, (10.0, 100.0), strict=True):
        residual = task.matrix(unknowns, reynolds) @ solve(load) - load
        assert np.abs(residual).max() < 1e-8


def test_a_singular_matrix_is_refused(task):
    matrix = task.pattern.astype(float) * 0.0
    with pytest.raises(RuntimeError, match="singular"):
        task.factorise(matrix)


def test_nested_dissection_is_an_order_of_all_unknowns_with_less_fill_than_columns(task):
    columns = task.matrix(creeping_flow(task, 100.0), 100.0)
    corners = task.space.mesh.doflocs[:, task.space.mesh.t[:3]]
    order = elimination_order(task.equations.element_dofs, corners.mean(axis=1), task.free)
    assert np.array_equal(np.sort(order), np.arange(columns.shape[0]))
    ordered = splu(
        columns[order][:, order].tocsc(), permc_spec="NATURAL", diag_pivot_thresh=PIVOT_THRESHOLD
    )
    by_columns = splu(columns, permc_spec="COLAMD")
    assert ordered.L.nnz + ordered.U.nnz < by_columns.L.nnz + by_columns.U.nnz


def test_solves_with_factors_of_single_precision_are_refined_to_double(task):
    """A backward error of some hundred roundings; single precision alone leaves more than 1e-6."""
    matrix = task.matrix(creeping_flow(task, 100.0), 100.0)
    factors = task.factorise(matrix)
    load = matrix @ np.random.default_rng(5).standard_normal(matrix.shape[0])
    assert factors.single
    for transposed, acting in ((False, matrix), (True, matrix.T)):
        found = factors(load, transposed)
        scale = abs(acting).sum(axis=1).max() * np.abs(found).max()
        assert np.abs(acting @ found - load).max() < 100 * np.finfo(float).eps * scale
    rough = factors(load, tolerance=0.1)
    left = np.linalg.norm(matrix @ rough - load) / np.linalg.norm(load)
    assert 1e-12 < left <= 0.1


def test_a_matrix_too_close_to_singular_for_single_precision_is_solved_in_double():
    """Hilbert's matrix of order 8 has a condition number of 1.5e10."""
    matrix = csc_matrix(hilbert(8))
    factors = factoriser(matrix, np.arange(8))(matrix)
    exact = np.arange(1.0, 9.0)
    np.testing.assert_allclose(factors(matrix @ exact), exact, rtol=1e-5)
    assert not factors.single


@pytest.mark.parametrize("transposed", [False, True])
def test_factors_of_a_neighbouring_matrix_serve_to_solve(task, transposed):
    unknowns = creeping_flow(task, 100.0)
    matrix, factors = task.matrix(unknowns, 100.0), task.factorise(task.matrix(unknowns, 80.0))
    load = np.random.default_rng(6).standard_normal(matrix.shape[0])
    acting = matrix.T if transposed else matrix
    found = gmres(acting, lambda rest: factors(rest, transposed, 0.05), load, 1e-8, 20)
    assert np.linalg.norm(acting @ found - load) < 2e-8 * np.linalg.norm(load)
    assert gmres(acting, lambda rest: rest, load, 1e-8, 5) is None
