"""Speed of the closure on the demo's first bore, in ratios within one run and iterations."""

import time
from pathlib import Path

import numpy as np
import pytest

from borestudy.closure.levels import prepare, solve_one
from borestudy.closure.steady import plateau_start, solve_steady
from borestudy.flow.levels import solve_levels
from borestudy.mesh import read_mesh, turbulent, write_mesh
from borestudy.study import load_study

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"


@pytest.fixture(autouse=True)
def timed(request):
    """A ratio of times means nothing in a run where other tests share the machine."""
    options = request.config.option
    if options.benchmark_disable and not options.benchmark_enable:
        pytest.skip("speed is measured with --benchmark-enable only")


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    bore = load_study(DEMO).cases()[0].build_bore()
    path = tmp_path_factory.mktemp("mesh") / "demo.msh"
    write_mesh(bore, path, turbulent(7000), 1)
    return read_mesh(path), 2 * bore.throat_radius


def test_rate_from_the_rate_before_takes_few_iterations(benchmark, demo):
    """One factorisation each; assembly costs at most three of them."""
    task, boundary = prepare(*demo, "uniform")
    before = solve_one(task, boundary, 4500.0)

    state = benchmark.pedantic(
        lambda: solve_steady(task, before.unknowns, 7000.0, first_cfl=1e3), rounds=1
    )
    assert state.converged
    begin = time.process_time()
    matrix = task.matrix(state.unknowns, 7000.0)
    assembly = time.process_time() - begin
    begin = time.process_time()
    task.factorise(matrix)
    factorisation = time.process_time() - begin
    benchmark.extra_info.update(
        unknowns=len(task.free),
        iterations=state.iterations,
        assembly_over_factorisation=assembly / factorisation,
    )
    assert state.iterations <= 15
    assert assembly < 3 * factorisation


def test_cold_start_costs_less_than_ten_laminar_solutions(benchmark, demo):
    """The laminar solution is followed from creeping flow to the same rate on the same mesh."""
    mesh, diameter = demo
    begin = time.process_time()
    solve_levels([mesh], diameter, "uniform", [2000.0])
    laminar = time.process_time() - begin
    task, boundary = prepare(mesh, diameter, "uniform")
    begin = time.process_time()
    start = plateau_start(task, boundary, 7000.0)
    state = benchmark.pedantic(lambda: solve_steady(task, start, 7000.0), rounds=1)
    turbulent_time = time.process_time() - begin
    benchmark.extra_info.update(iterations=state.iterations, ratio=turbulent_time / laminar)
    assert state.converged
    assert np.isfinite(state.unknowns).all()
    assert turbulent_time < 10 * laminar
