"""What lips blow into, from the two-ports of a bore that is cut in its throat."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.closed_form import air_column, tube
from borestudy.flow.result import FlowAtRate
from borestudy.playing.steady import SteadyDrop
from borestudy.quantity import Quantity
from borestudy.results.estimate import EstimatedFlow, EstimatedRate
from borestudy.results.loads import bore_loads, frequency_grid, steady_drop
from borestudy.stages.loads import case_loads

RADIUS, LENGTH, RESISTANCE = 2e-3, 80e-3, 3e6


@pytest.fixture(scope="module")
def loads(meshes, dry_air):
    """A tube with an anechoic pipe behind, of two meshes, cut in its middle."""

    def solved(length, *axial):
        levels = [meshes.tube(RADIUS, length, count, 3) for count in axial]
        return solve_two_port(levels, dry_air, 200.0, 4000.0)

    halves = solved(LENGTH / 2, 20), solved(LENGTH / 2, 20)
    whole = solved(LENGTH, 30, 40)
    end = build_termination("open", RADIUS)
    return bore_loads(halves, whole, end, SteadyDrop.none(), 2 * RADIUS), whole, end


def of_tube(load, air, resistance):
    """Impedance and the shank's pressure by the flow, from the tube's chain matrix."""
    omega = 2 * np.pi * load.frequencies
    half = tube.transfer_matrix(RADIUS, LENGTH / 2, omega, air)
    pressure, flow = build_termination("open", RADIUS).state(omega, air).T
    state = half @ np.stack([pressure, flow], axis=1)[:, :, None]
    state[:, 0] += resistance * state[:, 1]
    state = (half @ state)[:, :, 0]
    return state[:, 0] / state[:, 1], pressure / state[:, 1]


@pytest.mark.parametrize("resistance", [0.0, RESISTANCE])
def test_a_tube_cut_in_two_has_the_impedance_of_its_chain_matrix(loads, dry_air, resistance):
    load = loads[0][-1]
    impedance, shank = of_tube(load, dry_air, resistance)
    # The one-dimensional tube keeps the pressure even, what the finite elements need not: 3e-4.
    assert np.allclose(load.impedance(resistance), impedance, rtol=1e-3, atol=0)
    assert np.allclose(load.shank_pressure(resistance), shank, rtol=1e-3, atol=0)
    assert np.max(np.abs(load.impedance(RESISTANCE) / load.impedance(0.0) - 1)) > 0.01


def test_without_resistance_each_mesh_has_its_own_impedance_of_the_whole_bore(loads):
    found, whole, end = loads
    assert len(found) == 2
    for level, load in enumerate(found):
        uncut = input_impedance(whole, end, load.frequencies, level)
        assert np.allclose(load.impedance(), uncut, rtol=1e-12, atol=0)
    assert not np.array_equal(found[0].impedance(), found[1].impedance())


def test_an_air_column_is_asked_for_no_frequency_twice(meshes, dry_air, monkeypatch):
    asked, answer = [], air_column.entrance_state

    def counted(column, omega, air, lossless=False):
        asked.extend(omega.tolist())
        return answer(column, omega, air, lossless)

    monkeypatch.setattr(air_column, "entrance_state", counted)
    pipe = air_column.air_column([0.0, 0.2], [RADIUS, RADIUS])
    end = build_termination("air column", RADIUS, column=pipe)
    whole = solve_two_port([meshes.tube(RADIUS, LENGTH, 20, 2)], dry_air, 200.0, 4000.0)
    halves = [solve_two_port([meshes.tube(RADIUS, LENGTH / 2, 10, 2)], dry_air, 200.0, 4000.0)] * 2
    (load,) = bore_loads(halves, whole, end, SteadyDrop.none(), 2 * RADIUS)
    assert sorted(asked) == sorted(set(asked))
    assert set(2 * np.pi * load.frequencies) <= set(asked)
    # In another air the column answers anew.
    thinner = replace(dry_air, density=0.9 * dry_air.density)
    omega = 2 * np.pi * load.frequencies[:2]
    assert not np.array_equal(end.state(omega, dry_air), end.state(omega, thinner))


@pytest.mark.parametrize(
    ("kind", "where"), [("anechoic pipe", "on its own pipe"), ("open", "on its own")]
)
def test_without_an_air_column_it_is_said_what_the_lips_blow_into(meshes, dry_air, kind, where):
    whole = solve_two_port([meshes.tube(RADIUS, LENGTH, 20, 2)], dry_air, 200.0, 4000.0)
    halves = [solve_two_port([meshes.tube(RADIUS, LENGTH / 2, 10, 2)], dry_air, 200.0, 4000.0)] * 2
    end = build_termination(kind, RADIUS)
    flow = EstimatedFlow(rates=(rate(0.1, 400.0, 6.0),))
    found = case_loads(halves, whole, end, flow, 2 * RADIUS)
    assert found.behind == kind
    assert found.note == (
        f"no air column behind the shank ({kind}): the lips start a tone of the mouthpiece "
        f"{where}, and not of an instrument"
    )
    assert found.trusted_below == end.trusted_below(dry_air)
    assert found.higher.drop(1e-4) == pytest.approx(404.0)
    assert found.loads[0].steady.drop(1e-4) == pytest.approx(400.0)
    unsolved = case_loads(halves, whole, end, EstimatedFlow(), 2 * RADIUS)
    assert unsolved.note.endswith("; no flow rate was solved: the stream has no part in it")


def test_the_grid_lies_close_at_narrow_peaks():
    def impedance(frequencies):
        """Two resonators of Q 100 and 10."""
        return sum(
            1 / (1 / Q + 1j * (frequencies / centre - centre / frequencies))
            for centre, Q in ((311.0, 100.0), (900.0, 10.0))
        )

    grid = frequency_grid(impedance, 50.0, 2000.0)
    assert grid[0] == 50.0
    assert grid[-1] == 2000.0
    assert np.all(np.diff(grid) > 0)
    middles = (grid[1:] + grid[:-1]) / 2
    means = (impedance(grid)[1:] + impedance(grid)[:-1]) / 2
    assert np.max(np.abs(means / impedance(middles) - 1)) <= 1e-3
    # A cubic's error is of the fourth order where that of the mean is of the second.
    through = CubicSpline(grid, impedance(grid))(middles)
    assert np.max(np.abs(through / impedance(middles) - 1)) < 1e-5
    assert np.min(np.diff(grid)) < 311.0 / 100 / 10 < 2 < np.max(np.diff(grid))


def rate(litres, drop, slope):
    solved = FlowAtRate(
        flow_rate_L_per_s=litres,
        converged=drop is not None,
        pressure_drop=drop and Quantity(drop, 0.01 * drop, "Pa"),
        differential_resistance=slope and Quantity(slope, 0.02 * slope, "kPa_s_per_L"),
    )
    return EstimatedRate(
        flow_rate_L_per_s=litres,
        throat_reynolds=1000.0,
        throat_velocity_m_per_s=10.0,
        dynamic_pressure_Pa=60.0,
        mach_number=0.03,
        estimate=solved,
    )


def test_the_steady_drop_is_that_of_the_rates_that_were_solved():
    flow = EstimatedFlow(rates=(rate(0.1, 400.0, 6.0), rate(0.2, None, None)))
    found, higher = steady_drop(flow), steady_drop(flow, 1.0)
    assert found.drop(1e-4) == pytest.approx(400.0)
    assert found.slope(1e-4) == pytest.approx(6e6)
    assert found.greatest_rate == pytest.approx(1e-4)
    assert higher.drop(1e-4) == pytest.approx(404.0)
    assert higher.slope(1e-4) == pytest.approx(6.12e6)


def test_without_any_solved_rate_there_is_no_steady_drop():
    found = steady_drop(EstimatedFlow(rates=(rate(0.1, None, None),)))
    assert found.drop(1e-3) == 0
    assert found.slope(1e-3) == 0
