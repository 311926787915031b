"""The way through: what is refused, what a row says."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.closure.rows import QUANTITIES, guard_against_chance
from borestudy.closure.solve import solve_closure
from borestudy.flow import solver
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras

DIAMETER = 3.66e-3
AIR = humid_air()
RATE = np.pi / 4 * DIAMETER * AIR.kinematic_viscosity


def test_flow_that_is_not_surely_turbulent_is_refused_with_the_least_rate_allowed():
    with pytest.raises(ValueError, match=r"Reynolds number of 2000; .* not turn laminar .*2500"):
        solve_closure([], AIR, [2000 * RATE, 6000 * RATE], DIAMETER)


def test_row_has_its_balance_and_a_rate_without_solution_says_so(long_pipe, monkeypatch):
    mesh = long_pipe(0.004).scaled(DIAMETER)
    found = solve_closure([mesh], AIR, [5000 * RATE], DIAMETER)
    row = found["rates"][0]
    assert row["converged"]
    assert row["residual"] < found["residual_tolerance"]
    assert row["wall_resolution"] == "resolved"
    assert abs(row["mass_balance"]) < 1e-6
    # friction of all 80 diameters, f = 0.0374 (Prandtl, von Karman), and a little at the inlet
    assert 0.95 < row["loss_coefficient"] / (80 * 0.0374) < 1.15

    monkeypatch.setattr(solver, "solve_at", two_steps)
    row = solve_closure([mesh], AIR, [5000 * RATE], DIAMETER)["rates"][0]
    assert row["converged"] is False
    assert row["pressure_drop_Pa"] is None
    assert row["residual"] is None


def test_slope_of_the_pressure_drop_is_that_between_neighbouring_rates(long_pipe):
    """Along the tangent of one solution, against the central difference of two others.

    On this mesh a difference over ±1 % is off by 2.2e-5 and over ±0.5 % by a quarter of that; the
    solutions' own residuals of 1e-8 count a hundred times in a difference of 1 %.
    """
    mesh = long_pipe(0.004).scaled(DIAMETER)
    rates = [share * 5000 * RATE for share in (0.995, 1.0, 1.005)]
    rows = solve_closure([mesh], AIR, rates, DIAMETER)["rates"]
    before, _, after = (row["pressure_drop_Pa"] for row in rows)
    slope = rows[1]["differential_resistance_kPa_s_per_L"]
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
    found = solve_closure(coarse, AIR, [rate], DIAMETER, remesh=remesh)
    row = found["rates"][0]
    assert found["wall_refinements"] == len(heights) > 0
    assert row["y_plus"] < found["greatest_y_plus_allowed"]
    assert row["wall_resolution"] == "resolved"
    fine = solve_closure([long_pipe(0.002).scaled(DIAMETER)], AIR, [rate], DIAMETER)["rates"][0]
    assert row["pressure_drop_Pa"] == pytest.approx(fine["pressure_drop_Pa"], rel=0.01)


def test_a_wall_that_no_mesh_resolves_is_named(long_pipe):
    coarse = [long_pipe(0.04).scaled(DIAMETER)]
    found = solve_closure(coarse, AIR, [5000 * RATE], DIAMETER, remesh=lambda _: coarse)
    row = found["rates"][0]
    assert row["y_plus"] > found["greatest_y_plus_allowed"]
    assert row["wall_resolution"] == "y+ too large"


def test_a_rate_at_which_two_meshes_agree_by_chance_is_no_surer_than_half_its_neighbours():
    """The difference between the meshes, in q: 0.8 %, none, −0.6 %; uncertainties grow with q."""
    rows = [
        {"dynamic_pressure_Pa": dynamic, "flow_rate_L_per_s": rate}
        | {f"{key}_uncertainty": None for key in QUANTITIES}
        | {"pressure_drop_Pa_uncertainty": share * dynamic}
        for rate, dynamic, share in ((0.1, 100.0, 0.008), (0.2, 400.0, 0.0), (0.3, 900.0, 0.006))
    ]
    guard_against_chance(rows)
    found = [row["pressure_drop_Pa_uncertainty"] for row in rows]
    assert found == pytest.approx([0.8, 0.5 * 0.008 * 400, 5.4])


SOLVE_AT = solver.solve_at


def two_steps(problem, start, reynolds, how, adjoint=False):
    return SOLVE_AT(problem, start, reynolds, replace(how, factorisations=2), adjoint)


def test_a_rate_that_the_plateau_does_not_reach_is_reached_from_a_slower_one(
    long_pipe, monkeypatch
):
    model = SpalartAllmaras()
    problem = solver.prepare(model, long_pipe(0.004), 1.0, "uniform")
    direct = solver.follow(model, problem, [6000.0]).states[0]
    asked = []

    def stuck_at_first(problem, start, reynolds, how, adjoint):
        asked.append(reynolds)
        if len(asked) == 1:
            return two_steps(problem, start, reynolds, how, adjoint)
        return SOLVE_AT(problem, start, reynolds, how, adjoint)

    monkeypatch.setattr(solver, "solve_at", stuck_at_first)
    found = solver.follow(model, problem, [6000.0]).states[0]
    assert asked == [6000.0, pytest.approx(3600.0), 6000.0]
    np.testing.assert_allclose(found.unknowns, direct.unknowns, atol=1e-5)
