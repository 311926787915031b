"""A whole case: every rate's row, its balances, its slope, and what happens past convergence."""

import json
from dataclasses import replace

import meshio
import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.flow import at_rate, solver
from borestudy.flow.fields import field_name
from borestudy.flow.solve import solve_flow
from borestudy.records import to_plain

MM = 1e-3
DIAMETER = 3.66 * MM
RATES = [5e-5, 1e-4, 2e-4, 3e-4]
THROAT = (10.8 * MM, 15.8 * MM)
HALVES = ("pressure_drop_Pa", "pressure_drop_to_throat_end_Pa", "backbore_pressure_drop_Pa")


def drawn_wall(x):
    """Cup between funnel and bowl, a square edge, the throat, a straight backbore."""
    share = np.clip(x / THROAT[0], 0, 1)
    cup = 1.83 * MM + 6.27 * MM * (1 - share) * (1 + 0.6 * share)
    backbore = np.interp(x, [THROAT[1], 88 * MM], [1.83 * MM, 4.5 * MM])
    return np.where(x < THROAT[0], cup, backbore)


@pytest.fixture(scope="module")
def meshes(strip, grade):
    def one(fineness):
        cup = THROAT[0] - grade(0, THROAT[0], round(20 * fineness), 2.0)[::-1]
        throat = grade(*THROAT, round(25 * fineness), 1.7)
        share = np.linspace(0, 1, round(70 * fineness) + 1)
        backbore = THROAT[1] + 72.2 * MM * (0.35 * share + 0.65 * share**2)
        shares = 1 - grade(0, 1, round(16 * fineness), 1.4)[::-1]
        positions = np.concatenate([cup, throat[1:], backbore[1:]])
        ends = {"cup": THROAT[0], "throat": THROAT[1], "backbore": 88 * MM}
        return strip(drawn_wall, positions, shares, ends)

    return [one(0.8), one(1.5)]


def plain_rates(*arguments, **options):
    """Every rate's record as its file has it."""
    return to_plain(solve_flow(*arguments, **options))["rates"]


@pytest.fixture(scope="module")
def solved(meshes, tmp_path_factory):
    folder = tmp_path_factory.mktemp("fields")
    result = solve_flow(meshes, humid_air(), RATES, DIAMETER, throat=THROAT, fields=folder)
    return to_plain(result), folder


def test_a_square_entry_is_solved_to_0_3_litres_per_second(solved):
    rows = solved[0]["rates"]
    assert [row["flow_rate_L_per_s"] for row in rows] == pytest.approx([0.05, 0.1, 0.2, 0.3])
    assert all(row["converged"] for row in rows)
    assert rows[-1]["throat_reynolds"] > 6500


def test_no_pressure_drop_is_surer_than_the_energy_its_mesh_gives_or_takes(meshes, monkeypatch):
    """A balance that is 5 % open, which is more than these meshes leave of a slow flow."""
    budget = at_rate.energy_budget

    def leaking(*arguments):
        found = budget(*arguments)
        return replace(found, dissipation=found.loss / 0.95)

    monkeypatch.setattr(at_rate, "energy_budget", leaking)
    (row,) = plain_rates(meshes, humid_air(), RATES[:1], DIAMETER, throat=THROAT)
    assert row["energy_balance"] == pytest.approx(-0.05)
    taken = 0.05 / 0.95 * row["budget"]["loss_Pa"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(taken)
    assert row["loss_coefficient_uncertainty"] == pytest.approx(taken / row["dynamic_pressure_Pa"])


def test_mass_is_conserved_to_1e_6_between_the_ends(solved):
    assert max(abs(row["mass_balance"]) for row in solved[0]["rates"]) < 1e-6


def test_mass_flux_of_interior_sections_holds_to_1e_4_on_a_coarse_mesh(solved):
    assert max(row["section_mass_flux"] for row in solved[0]["rates"]) < 1e-4


def test_mechanical_energy_lost_is_energy_dissipated_within_1_percent(solved):
    assert max(abs(row["energy_balance"]) for row in solved[0]["rates"]) < 0.01


def test_dissipation_by_part_adds_up_to_the_whole(solved):
    for row in solved[0]["rates"]:
        parts = row["budget"]["dissipation_by_part_Pa"]
        assert set(parts) == {"cup", "throat", "backbore"}
        assert sum(parts.values()) == pytest.approx(row["budget"]["dissipation_Pa"])


def test_pressure_drop_is_energy_lost_plus_kinetic_energy_gained(solved):
    for row in solved[0]["rates"]:
        budget = row["budget"]
        mixed = budget["loss_Pa"] + budget["kinetic_energy_rise_Pa"]
        # the area mean and the flux-weighted mean at the wide rim plane hardly differ
        assert row["pressure_drop_Pa"] == pytest.approx(mixed, rel=0.01)


def test_pressure_to_the_throat_falls_at_least_by_what_acceleration_takes(solved):
    for row in solved[0]["rates"]:
        least = row["dynamic_pressure_Pa"] * (1 - (3.66 / 16.2) ** 4)
        assert row["pressure_drop_to_throat_end_Pa"] > least


def test_both_halves_of_the_drop_meet_at_the_throats_end(solved):
    """The throat's end is a section with a pressure of its own, found on another way."""
    for row in solved[0]["rates"]:
        front, back = row["pressure_drop_to_throat_end_Pa"], row["backbore_pressure_drop_Pa"]
        assert front + back == pytest.approx(row["pressure_drop_Pa"], rel=1e-12)
        sections = row["sections"]
        middle = sections["throat_end"]["pressure_Pa"]
        assert front == pytest.approx(sections["rim_plane"]["pressure_Pa"] - middle)
        assert back == pytest.approx(middle - sections["shank_end"]["pressure_Pa"])
        for ladder in zip(*(row["levels"][key] for key in HALVES), strict=True):
            assert sum(ladder[1:]) == pytest.approx(ladder[0], rel=1e-12)


def test_kinetic_energy_gained_is_that_of_the_profiles_at_both_ends(solved):
    """α q (A_throat/A)² at each end, with the kinetic-energy factor of the profile there."""
    for row in solved[0]["rates"]:
        head = {
            name: row["sections"][name]["kinetic_energy_factor"]
            * row["dynamic_pressure_Pa"]
            * (3.66 / diameter) ** 4
            for name, diameter in (("rim_plane", 16.2), ("shank_end", 9.0))
        }
        gained = head["shank_end"] - head["rim_plane"]
        # the drawn wall is met to the fourth power of the diameter's 1e-4
        assert row["budget"]["kinetic_energy_rise_Pa"] == pytest.approx(gained, rel=1e-3)


def test_loss_coefficient_is_the_energy_dissipated_over_the_throats_dynamic_pressure(solved):
    for row in solved[0]["rates"]:
        budget = row["budget"]
        loss = row["loss_coefficient"] * row["dynamic_pressure_Pa"]
        assert loss == pytest.approx(budget["loss_Pa"], rel=1e-12)
        # closes within the energy balance
        assert loss == pytest.approx(budget["dissipation_Pa"], rel=0.01)


def test_discharge_coefficient_is_the_measured_flow_over_that_of_the_drop(solved):
    """The Venturi's definition: C² = (1 - β⁴) q/Δp between rim plane and throat (ISO 5167-1)."""
    for row in solved[0]["rates"]:
        ideal = 2 * row["pressure_drop_to_throat_end_Pa"] / humid_air().density
        ideal_velocity = np.sqrt(ideal / (1 - (3.66 / 16.2) ** 4))
        found = row["throat_velocity_m_per_s"] / ideal_velocity
        assert row["discharge_coefficient"] == pytest.approx(found, rel=1e-6)
        assert 0.5 < found < 1


def test_a_rates_scales_are_those_of_the_throat(solved):
    air = humid_air()
    for rate, row in zip(RATES, solved[0]["rates"], strict=True):
        velocity = rate / (np.pi / 4 * (3.66 * MM) ** 2)
        assert row["throat_velocity_m_per_s"] == pytest.approx(velocity)
        reynolds = air.density * velocity * 3.66 * MM / air.viscosity
        assert row["throat_reynolds"] == pytest.approx(reynolds)
        assert row["mach_number"] == pytest.approx(velocity / air.sound_speed)
        assert row["dynamic_pressure_Pa"] == pytest.approx(0.5 * air.density * velocity**2)


def test_slope_of_the_curve_is_the_difference_of_neighbouring_rates(meshes, solved):
    rate, step = RATES[1], 5e-3 * RATES[1]
    pair = plain_rates(meshes[:1], humid_air(), [rate - step, rate + step], DIAMETER)
    drops = [row["pressure_drop_Pa"] for row in pair]
    slope = (drops[1] - drops[0]) / (2 * step) * 1e-6
    row = solved[0]["rates"][1]
    coarse = row["levels"]["differential_resistance_kPa_s_per_L"][0]
    assert coarse == pytest.approx(slope, rel=1e-4)


def test_results_are_plain_numbers(solved):
    assert json.loads(json.dumps(solved[0], allow_nan=False))["inlet"] == "uniform"


def test_rates_that_agree_to_six_digits_have_fields_of_their_own():
    tenth_of_a_litre = 1e-3 * 10 / 60
    assert len({field_name(tenth_of_a_litre * (1 + part)) for part in (0.0, 1e-9, 1e-8)}) == 3


def test_field_files_hold_the_jet_in_si_units(solved):
    result, folder = solved
    field = meshio.read(folder / result["rates"][1]["field"])
    speed = field.point_data["speed_m_per_s"]
    mean = result["rates"][1]["throat_velocity_m_per_s"]
    assert 1.1 * mean < speed.max() < 1.6 * mean
    assert field.points[:, 0].max() == pytest.approx(88 * MM)
    np.testing.assert_allclose(
        np.linalg.norm(field.point_data["velocity_m_per_s"], axis=1), speed, atol=1e-9
    )


def test_rates_past_convergence_are_rows_without_numbers(meshes, monkeypatch):
    solve_one = solver.solve_at

    def limited(problem, start, reynolds, *arguments, **options):
        if reynolds > 1500:
            return None
        return solve_one(problem, start, reynolds, *arguments, **options)

    monkeypatch.setattr(solver, "solve_at", limited)
    rates = plain_rates(meshes[:1], humid_air(), RATES[:3], DIAMETER)
    assert [row["converged"] for row in rates] == [True, False, False]
    assert rates[1]["pressure_drop_Pa"] is None
    assert rates[1]["throat_reynolds"] > 1500
    assert rates[1]["reason"] == "the iteration converged on 0 of 1 meshes; needed are one"
    json.dumps(rates, allow_nan=False)
