"""The uncertainty stated on two and three meshes against the next finer one: bores with gmsh."""

from typing import NamedTuple

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions
from borestudy.flow.at_rate import Solution, flow_at_rate
from borestudy.flow.models.laminar import Laminar
from borestudy.flow.observables.lines import wall_line
from borestudy.flow.regime import rate_scale
from borestudy.flow.solver import solve_levels
from borestudy.mesh import LAMINAR, read_mesh, write_mesh

MM = 1e-3
ENTRIES = {"rounded": Entry("rounded", (1 * MM,), 0.0), "square": Entry()}
#: From laminar to playing loud: throat Reynolds numbers from 630 to 5100.
RATES = (3e-5, 6e-5, 1.2e-4, 2.4e-4)
MESHES = (-3, -2, -1, 0)
#: Which of these meshes a figure is from; the one after the last is what it is held against.
LADDERS = ((0, 1), (1, 2), (0, 1, 2))
FIGURES = (
    "pressure_drop", "loss_coefficient", "differential_resistance",
    "pressure_drop_to_throat_end", "backbore_pressure_drop", "discharge_coefficient",
)  # fmt: skip


class Step(NamedTuple):
    """A figure of a ladder, what the next mesh makes of it, over the uncertainty stated."""

    entry: str
    reynolds: float
    ladder: tuple[int, ...]
    figure: str
    share: float


def solution(level, index):
    state, wall = level.states[index], wall_line(level.problem.space)
    estimate = level.goal_error.estimate(state)
    return Solution(level.problem, state, level.sections, wall, estimate)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    air, folder, found = humid_air(), tmp_path_factory.mktemp("meshes"), []
    for name, entry in ENTRIES.items():
        bore = bore_from_dimensions(
            length=70 * MM, cup_diameter=12 * MM, cup_depth=9 * MM, cup_shape=0.5,
            throat_diameter=4 * MM, throat_length=5 * MM, entry=entry,
            backbore_end_diameter=8 * MM, backbore_taper="straight",
        )  # fmt: skip
        diameter, meshes = 2 * bore.throat_radius, []
        for level in MESHES:
            write_mesh(bore, folder / "bore.msh", LAMINAR, level)
            meshes.append(read_mesh(folder / "bore.msh"))
        scales = [rate_scale(air, rate, diameter) for rate in RATES]
        reynolds = [scale.reynolds for scale in scales]
        levels = solve_levels(Laminar(), meshes, diameter, "uniform", reynolds)

        def row(numbers, index, scales=scales, levels=levels):
            used = [solution(levels[number], index) for number in numbers]
            return flow_at_rate(scales[index], used, None, ratio=1.5, tolerance=0.01)

        for index, number in enumerate(reynolds):
            for ladder in LADDERS:
                stated, finer = row(ladder, index), row((ladder[-1] + 1,), index)
                for key in FIGURES:
                    one, other = getattr(stated, key), getattr(finer, key)
                    share = abs(other.value - one.value) / one.uncertainty
                    found.append(Step(name, number, ladder, key, share))
    return found


def test_95_percent_of_the_stated_uncertainties_reach_to_the_next_finer_mesh(steps):
    covered = [step.share <= 1 for step in steps]
    assert len(steps) == 2 * len(RATES) * len(LADDERS) * len(FIGURES)
    assert np.mean(covered) >= 0.95


def test_no_figure_is_further_off_than_three_times_its_uncertainty(steps):
    """At 95 % the uncertainty is two sigma: six do not happen by chance in 144 figures."""
    assert [step for step in steps if step.share > 3] == []
