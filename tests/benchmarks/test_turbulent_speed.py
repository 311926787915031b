"""Speed of the turbulent model on the demo's first bore: factorisations, and ratios of times.

Both times of a ratio are taken in the same run, and are this process's own: what the machine does
besides lengthens the clock's only. Seconds are recorded, never asserted.
"""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from borestudy.fem.continuation import predict
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.solver import next_level, solve_at
from borestudy.mesh import read_mesh, turbulent, write_mesh
from borestudy.study import load_study

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"
RATES = (3000, 3500, 4000, 4500, 5000, 5500, 6000, 7000)
MEMORY_MB = 1200.0
EIGHT_RATES = f"""
import json, resource, sys, time
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.solver import solve_levels
from borestudy.mesh import read_mesh
meshes = [read_mesh(path) for path in sys.argv[2:]]

def solve(rates):
    begin = time.process_time()
    levels = solve_levels(SpalartAllmaras(), meshes, float(sys.argv[1]), "uniform", rates)
    return levels, time.process_time() - begin

levels, seconds = solve({RATES})
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
_, alone = solve({RATES}[-1:])
print(json.dumps(dict(
    seconds=seconds,
    fastest_alone_s=alone,
    ratio=seconds / alone,
    memory_MB=memory,
    converged=all(state is not None for level in levels for state in level.states),
    unknowns=[level.problem.equations.unknowns for level in levels],
    iterations=[[state.steps for state in level.states] for level in levels],
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


def test_eight_rates_on_two_meshes_cost_less_than_eight_alone_and_stay_within_memory(
    benchmark, demo
):
    """Against the fastest, the dearest, alone: else nothing were gained by following the rates.

    In a process of its own, whose memory is that of this and nothing else.
    """
    paths, diameter = demo
    command = [sys.executable, "-c", EIGHT_RATES, str(diameter), *map(str, paths)]

    found = benchmark.pedantic(
        lambda: json.loads(subprocess.run(command, check=True, capture_output=True).stdout),
        rounds=1,
    )
    benchmark.extra_info.update(found)
    assert found["converged"]
    assert found["seconds"] < len(RATES) * found["fastest_alone_s"]
    assert found["memory_MB"] < MEMORY_MB
    # the finer mesh starts where the coarser ended
    assert sum(found["factorisations"][1]) <= sum(found["factorisations"][0])


def test_rate_from_the_rate_before_takes_few_factorisations_and_half_the_time(benchmark, demo):
    """Half of what the rate before took, which started from laminar flow on the coarser mesh.

    On both meshes, since the uncertainty needs two: assembly, factorisation, iterations.
    """
    paths, diameter = demo
    model, level, levels = SpalartAllmaras(), None, []
    begin = time.process_time()
    for path in paths:
        level = next_level(model, level, read_mesh(path), diameter, "uniform", [5000.0])
        levels.append(level)
    first = time.process_time() - begin

    def next_rate():
        begin = time.process_time()
        states = []
        for level in levels:
            start = model.admissible(level.problem, predict(None, level.state(0), 6000.0))
            states.append(solve_at(level.problem, start, 6000.0, model.near_steps, adjoint=True))
        return states, time.process_time() - begin

    states, seconds = benchmark.pedantic(next_rate, rounds=1)
    assert None not in states
    task, unknowns = levels[-1].problem, states[-1].unknowns
    begin = time.process_time()
    matrix = task.matrix(unknowns, 6000.0)
    assembly = time.process_time() - begin
    begin = time.process_time()
    task.factorise(matrix)
    factorisation = time.process_time() - begin
    benchmark.extra_info.update(
        unknowns=len(task.free),
        seconds=seconds,
        first_rate_s=first,
        ratio=seconds / first,
        assembly_s=assembly,
        factorisation_s=factorisation,
        iterations=[state.steps for state in states],
        factorisations=[state.factorisations for state in states],
    )
    assert seconds < first / 2
    assert max(state.factorisations for state in states) <= 6
    assert np.isfinite(unknowns).all()
