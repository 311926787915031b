"""The way through: what is refused, what a row says."""

import re
from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.flow import solver
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.models.spalart_allmaras import model as of_model
from borestudy.flow.observables.lines import GREATEST_Y_PLUS
from borestudy.flow.solve import solve_flow

DIAMETER = 3.66e-3
AIR = humid_air()
RATE = np.pi / 4 * DIAMETER * AIR.kinematic_viscosity


def solved(meshes, rates, **options):
    return solve_flow(meshes, AIR, rates, DIAMETER, model=SpalartAllmaras(), **options)


def test_flow_that_is_not_surely_turbulent_is_refused_with_the_least_rate_allowed(long_pipe):
    """Its rate has a record in its place all the same, and no mesh is touched for it."""
    found = solved([long_pipe(0.004).scaled(DIAMETER)], [2000 * RATE, 5000 * RATE])
    slow, fast = found.rates
    assert not slow.converged
    assert re.search(r"Reynolds number of 2000 .* not become laminar .*2500", slow.reason)
    assert slow.throat_reynolds == pytest.approx(2000)
    assert slow.pressure_drop is None
    assert fast.converged
    none = solved([], [2000 * RATE])
    assert not none.rates[0].converged
    assert none.unknowns == ()


def test_row_has_its_balance_and_a_rate_without_solution_says_so(long_pipe, monkeypatch):
    mesh = long_pipe(0.004).scaled(DIAMETER)
    (row,) = solved([mesh], [5000 * RATE]).rates
    assert row.converged
    assert row.residual < SpalartAllmaras().steps.tolerance
    assert row.wall_resolution == "resolved"
    assert abs(row.mass_balance) < 1e-6
    # friction of all 80 diameters, f = 0.0374 (Prandtl, von Karman), and a little at the inlet
    assert 0.95 < row.loss_coefficient.value / (80 * 0.0374) < 1.15

    monkeypatch.setattr(solver, "solve_at", two_steps)
    (row,) = solved([mesh], [5000 * RATE]).rates
    assert row.converged is False
    assert row.pressure_drop is None
    assert row.residual is None
    assert "converged on 0 of 1 meshes" in row.reason


def test_slope_of_the_pressure_drop_is_that_between_neighbouring_rates(long_pipe):
    """Along the tangent of one solution, against the central difference of two others.

    On this mesh a difference over ±1 % is off by 2.2e-5 and over ±0.5 % by a quarter of that; the
    solutions' own residuals of 1e-8 count a hundred times in a difference of 1 %.
    """
    mesh = long_pipe(0.004).scaled(DIAMETER)
    rates = [share * 5000 * RATE for share in (0.995, 1.0, 1.005)]
    rows = solved([mesh], rates).rates
    before, _, after = (row.pressure_drop.value for row in rows)
    slope = rows[1].differential_resistance.value
    assert slope == pytest.approx(1e-6 * (after - before) / (rates[2] - rates[0]), rel=2e-5)


def test_too_high_a_first_row_is_lowered_until_the_wall_is_resolved(long_pipe):
    """From y⁺ above 20 to below 4, and to the drop of a mesh that is fine from the start.

    Friction moves by less than 0.1 % up to y⁺ 4, the drop in the thin layer behind the inlet by
    0.5 % of the whole.
    """
    heights = []

    def remesh(height):
        heights.append(0.04 * height)
        return [long_pipe(heights[-1]).scaled(DIAMETER)]

    rate = 5000 * RATE
    coarse = [long_pipe(0.04).scaled(DIAMETER)]
    found = solved(coarse, [rate], remesh=remesh)
    (row,) = found.rates
    assert found.wall_refinements == len(heights) > 0
    assert row.y_plus < GREATEST_Y_PLUS
    assert row.wall_resolution == "resolved"
    (fine,) = solved([long_pipe(0.002).scaled(DIAMETER)], [rate]).rates
    assert row.pressure_drop.value == pytest.approx(fine.pressure_drop.value, rel=0.01)


def test_a_wall_that_no_mesh_resolves_is_named(long_pipe):
    coarse = [long_pipe(0.04).scaled(DIAMETER)]
    (row,) = solved(coarse, [5000 * RATE], remesh=lambda _: coarse).rates
    assert row.y_plus > GREATEST_Y_PLUS
    assert row.wall_resolution == "y+ too large"


SOLVE_AT = solver.solve_at


def two_steps(problem, start, reynolds, how, *wanted):
    return SOLVE_AT(problem, start, reynolds, replace(how, factorisations=2), *wanted)


def test_a_rate_that_the_plateau_does_not_reach_is_reached_from_a_slower_one(
    long_pipe, monkeypatch
):
    model = SpalartAllmaras()
    problem = solver.prepare(model, long_pipe(0.004), 1.0, "uniform")
    direct = solver.follow(model, problem, [6000.0]).points[0]
    asked = []

    def stuck_at_first(problem, start, reynolds, how, *wanted):
        asked.append(reynolds)
        if len(asked) == 1:
            return two_steps(problem, start, reynolds, how, *wanted)
        return SOLVE_AT(problem, start, reynolds, how, *wanted)

    monkeypatch.setattr(solver, "solve_at", stuck_at_first)
    found = solver.follow(model, problem, [6000.0]).points[0]
    assert asked == [6000.0, pytest.approx(3600.0), 6000.0]
    np.testing.assert_allclose(found.unknowns, direct.unknowns, atol=1e-5)


def test_starts_at_two_rates_share_one_laminar_flow(long_pipe, monkeypatch):
    """Eddy viscosity over that of air grows with the Reynolds number, so that the flow fits."""
    slow_flow, slow_flows = of_model.slow_flow, []

    def counted(problem):
        slow_flows.append(problem)
        return slow_flow(problem)

    monkeypatch.setattr(of_model, "slow_flow", counted)
    model = SpalartAllmaras()
    problem = solver.prepare(model, long_pipe(0.04), 1.0, "uniform")
    first, second = (model.own_start(problem, reynolds) for reynolds in (3000.0, 6000.0))
    assert slow_flows == [problem]
    count = problem.space.unknowns
    inside = problem.free[problem.free >= count]
    np.testing.assert_array_equal(first[:count], second[:count])
    np.testing.assert_allclose(2 * first[inside], second[inside])
