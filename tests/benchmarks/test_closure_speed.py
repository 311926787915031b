"""Speed of the closure on the demo's first bore: how often it factorises, times beside each other.

Seconds are recorded, and asserted with the limits that a study relies on; what the machine does
besides is taken out by counting this process's own time.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from borestudy.closure.levels import along_branch, carried, prepare, solve_one
from borestudy.closure.steady import solve_steady
from borestudy.mesh import read_mesh, turbulent, write_mesh
from borestudy.study import load_study

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"
RATES = (3000, 3500, 4000, 4500, 5000, 5500, 6000, 7000)
#: Seconds of one core for eight rates on two meshes and for one rate from the one before, memory.
EIGHT_RATES_S, ONE_RATE_S, MEMORY_MB = 150.0, 30.0, 1200.0
EIGHT_RATES = f"""
import json, resource, sys, time
from borestudy.closure.levels import solve_closure_levels
from borestudy.mesh import read_mesh
begin = time.process_time()
meshes = [read_mesh(path) for path in sys.argv[2:]]
levels = solve_closure_levels(meshes, float(sys.argv[1]), "uniform", {RATES})
print(json.dumps(dict(
    seconds=time.process_time() - begin,
    memory_MB=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    converged=all(state.converged for level in levels for state in level.states),
    unknowns=[level.task.space.unknowns for level in levels],
    iterations=[[state.iterations for state in level.states] for level in levels],
    factorisations=[[state.factorisations for state in level.states] for level in levels],
)))
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    bore = load_study(DEMO).cases()[0].build_bore()
    folder, paths = tmp_path_factory.mktemp("mesh"), []
    for level in (0, 1):
        paths.append(folder / f"demo-{level}.msh")
        write_mesh(bore, paths[-1], turbulent(max(RATES)), level)
    return paths, 2 * bore.throat_radius


def test_eight_rates_on_two_meshes_stay_within_time_and_memory(benchmark, demo):
    """In a process of its own, whose memory is that of this and nothing else."""
    paths, diameter = demo
    command = [sys.executable, "-c", EIGHT_RATES, str(diameter), *map(str, paths)]

    found = benchmark.pedantic(
        lambda: json.loads(subprocess.run(command, check=True, capture_output=True).stdout),
        rounds=1,
    )
    benchmark.extra_info.update(found)
    assert found["converged"]
    assert found["seconds"] < EIGHT_RATES_S
    assert found["memory_MB"] < MEMORY_MB
    # the finer mesh starts where the coarser ended
    assert sum(found["factorisations"][1]) <= sum(found["factorisations"][0])


def test_rate_from_the_rate_before_takes_few_factorisations(benchmark, demo):
    """On both meshes, since the uncertainty needs two: assembly, factorisation, iterations."""
    paths, diameter = demo
    solved = []
    for path in paths:
        task, boundary = prepare(read_mesh(path), diameter, "uniform")
        near = None
        if solved:
            coarse_task, coarse = solved[-1]
            near = carried(coarse_task.space, coarse.unknowns, task.space)
        solved.append((task, solve_one(task, boundary, 5000.0, near)))

    def next_rate():
        begin = time.process_time()
        states = [
            solve_steady(task, along_branch(task.space, state, 6000.0), 6000.0, first_cfl=1e3)
            for task, state in solved
        ]
        return states, time.process_time() - begin

    states, seconds = benchmark.pedantic(next_rate, rounds=1)
    assert all(state.converged for state in states)
    task, unknowns = solved[-1][0], states[-1].unknowns
    begin = time.process_time()
    matrix = task.matrix(unknowns, 6000.0)
    assembly = time.process_time() - begin
    begin = time.process_time()
    task.factorise(matrix)
    factorisation = time.process_time() - begin
    benchmark.extra_info.update(
        unknowns=len(task.free),
        seconds=seconds,
        assembly_s=assembly,
        factorisation_s=factorisation,
        iterations=[state.iterations for state in states],
        factorisations=[state.factorisations for state in states],
    )
    assert seconds < ONE_RATE_S
    assert max(state.factorisations for state in states) <= 6
    assert np.isfinite(unknowns).all()
