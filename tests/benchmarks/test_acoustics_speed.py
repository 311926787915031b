"""Speed of the acoustics, in ratios taken within one run."""

import time
import tracemalloc
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np
import pytest
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import assemble_at, impedance_matrix, loads, solve_at
from borestudy.acoustics.two_port import solve_two_port, two_port_matrix
from borestudy.fem.sparse import factorise

ACOUSTIC_TESTS = Path(__file__).parents[1] / "acoustics"
CURVE = np.linspace(50, 5000, 4000)
SAMPLE = np.random.default_rng(3).uniform(50, 5000, 50)


def load(name):
    spec = spec_from_file_location(f"acoustic_{name}", ACOUSTIC_TESTS / f"{name}.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(autouse=True)
def timed(request):
    """A ratio of times means nothing in a run where other tests share the machine."""
    options = request.config.option
    if options.benchmark_disable and not options.benchmark_enable:
        pytest.skip("speed is measured with --benchmark-enable only")


@pytest.fixture(scope="module")
def build():
    return load("conftest")


@pytest.fixture(scope="module")
def air(build):
    return build.GAS


@pytest.fixture(scope="module")
def mesh(build):
    return build.mouthpiece_mesh(4.0)


def best_of(count, action):
    """Shortest of a few timings [s]: what is left when nothing else interferes."""
    times = []
    for _ in range(count):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def test_whole_curve_is_150_times_faster_than_direct_solves(benchmark, mesh, air):
    operator = assemble(mesh)
    omega = 2 * np.pi * SAMPLE
    start = time.perf_counter()
    direct = impedance_matrix(operator, omega, air)
    direct_time = (time.perf_counter() - start) / len(SAMPLE) * len(CURVE)

    two_port = solve_two_port([mesh], air, 50, 5000)

    def curve():
        return two_port_matrix(two_port, CURVE)

    benchmark(curve)
    whole = best_of(1, lambda: solve_two_port([mesh], air, 50, 5000)) + best_of(3, curve)
    np.testing.assert_allclose(two_port_matrix(two_port, SAMPLE), direct, rtol=1e-6)
    benchmark.extra_info |= {
        "unknowns": operator.unknowns,
        "snapshots": len(two_port.finest.reduction.snapshots),
        "direct_s_extrapolated": direct_time,
        "ratio_online": direct_time / best_of(3, curve),
        "ratio_with_basis": direct_time / whole,
    }
    assert benchmark.extra_info["ratio_with_basis"] > 150
    assert whole < 5.0


def test_whole_two_port_stays_under_500_megabytes(mesh, air):
    tracemalloc.start()
    two_port_matrix(solve_two_port([mesh], air, 50, 5000), CURVE)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 500e6


ORDERINGS = {
    "chosen": None,
    "no symmetric mode": {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.1},
    "full pivoting": {"permc_spec": "MMD_AT_PLUS_A"},
    "column ordering": {"permc_spec": "COLAMD"},
    "AtA ordering": {"permc_spec": "MMD_ATA"},
}


def test_chosen_ordering_is_the_fastest_of_those_tried(benchmark, mesh, air):
    operator = assemble(mesh)
    matrix = csc_matrix(assemble_at(operator, 2 * np.pi * 800.0, air))
    load_vector = loads(operator, 2 * np.pi * 800.0, air)[0]
    times = {}
    for name, options in ORDERINGS.items():
        if options is None:
            times[name] = best_of(
                5, lambda: factorise(matrix, kind="complex symmetric")(load_vector)
            )
        else:
            times[name] = best_of(
                3, lambda chosen=options: splu(matrix, **chosen).solve(load_vector)
            )
    benchmark(lambda: factorise(matrix, kind="complex symmetric")(load_vector))
    benchmark.extra_info |= times
    # a tie within the noise of a shared machine is not a loss
    assert times["chosen"] <= 1.1 * min(times.values())


def test_direct_solve_against_an_independent_library(benchmark, build, mesh, air):
    """Same order and about as many unknowns: assembly and factorisation at one frequency."""
    peer = load("peer")
    ngsolve, _ = peer.libraries()
    corners = build.MOUTHPIECE_CORNERS
    peer_mesh = peer.peer_mesh(corners, largest=5e-4, smallest=1e-4)
    unknowns = ngsolve.H1(peer_mesh, order=2).ndof
    operator = assemble(mesh)

    def ours():
        return solve_at(assemble(mesh), 2 * np.pi * 800.0, air)

    benchmark.pedantic(ours, rounds=3)
    theirs = best_of(3, lambda: peer.peer_two_port(peer_mesh, corners, air, 800.0, order=2))
    again = best_of(5, lambda: solve_at(operator, 2 * np.pi * 800.0, air))
    benchmark.extra_info |= {
        "unknowns": operator.unknowns,
        "peer_unknowns": unknowns,
        "peer_s": theirs,
        "ratio_per_unknown": (best_of(3, ours) / operator.unknowns) / (theirs / unknowns),
        "ratio_next_frequency_per_unknown": (again / operator.unknowns) / (theirs / unknowns),
    }
    # once assembled, another frequency must not cost more than the whole of the other library
    assert benchmark.extra_info["ratio_next_frequency_per_unknown"] < 3
