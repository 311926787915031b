"""What a job asks for on a cluster: memory from the size of its meshes, and time, by attempt."""

from collections.abc import Callable, Sequence
from math import ceil
from typing import Any

from borestudy.flow.meshes import PRESETS
from borestudy.stages.layout import Layout
from borestudy.stages.running.triangles import expected_triangles
from borestudy.study import Case

#: Memory without any mesh [MB], and more for each expected triangle of the finest mesh that a rate
#: of flow may be solved on [kB].  Measured were 110 MB of modules, and in coarse, medium and fine
#: meshes of the demonstration's first bore 55 to 110 kB for each of the mesh that was solved on.
PROGRAM_MB, TRIANGLE_KB = 400.0, 150.0
#: No job of cases asks for less memory: gmsh may take 1 GB beside the job's own.
LEAST_MB = 1500
#: Memory is asked for in steps of this [MB].
STEP_MB = 100
#: So many cases of a batch, evenly spread, stand for all of it: neighbours are much alike, and
#: drawing the bores of ten thousand cases would be most of a dry run.
LOOKED_AT = 6
#: How many times as long as expected a job may take, on a processor slower than that of the shipped
#: seconds or a shared one, and the least that is asked for [minutes].
PATIENCE, LEAST_MINUTES = 4.0, 10.0


def memory_MB(layout: Layout, cases: Sequence[Case], attempt: int = 1) -> int:
    """Memory that a job asks for which solves cases one after another [MB].

    Parameters
    ----------
    layout : Layout
        Of the study.
    cases : sequence of Case
        The cases.
    attempt : int
        How often the job has been tried, with this time; each time it asks for as much again.
    """
    step = max(1, -(-len(cases) // LOOKED_AT))
    most = max(_triangles(layout, case) for case in (*cases[::step], cases[-1]))
    wanted = PROGRAM_MB + most * TRIANGLE_KB / 1000
    return attempt * max(LEAST_MB, STEP_MB * ceil(wanted / STEP_MB))


def minutes(layout: Layout, cases: Sequence[Case], attempt: int = 1) -> int:
    """Time that a job asks for which solves cases one after another [minutes].

    Parameters
    ----------
    layout : Layout
        Of the study.
    cases : sequence of Case
        The cases.
    attempt : int
        How often the job has been tried, with this time; each time it asks for as much again.
    """
    expected = len(cases) * layout.seconds_of_case
    return attempt * ceil(LEAST_MINUTES + PATIENCE * expected / 60)


def growing(amount: int) -> Callable[[Any, int], int]:
    """A rule's memory or time, with as much again at each attempt."""

    def asked(wildcards: Any, attempt: int) -> int:
        return attempt * amount

    return asked


def _triangles(layout: Layout, case: Case) -> float:
    """Expected triangles of the largest mesh that a case may be solved on."""
    bore, resolution = case.build_bore(), layout.study.mesh.resolution
    presets = [PRESETS[model].at(resolution) for model in layout.models]
    # A rate that the others do not give to the study's tolerance is solved on one finer.
    return max(expected_triangles(bore, preset, preset.levels) for preset in presets)
