"""A changed list of flow rates solves the new rates only, and gives what a fresh run gives."""

import json
from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.bore import Bore, Entry, bore_from_dimensions, variation
from borestudy.flow import meshes
from borestudy.flow.models.of_bore import BY_RULE, Transition
from borestudy.stages.flow import flow_stage

MM = 1e-3
#: Newton's method ends at a residual of 1e-9 or less and squares it with each step; the turbulent
#: iteration ends at 1e-8, and a figure is off by as much, times a condition of some hundred.
SOLVER = {"estimate": 1e-5, "laminar": 1e-6, "turbulent": 1e-5}
FAST = [1.5e-4, 2e-4, 2.5e-4]
RATES = {"estimate": FAST, "laminar": [1e-5, 2e-5, 3e-5], "turbulent": FAST}
FIGURES = ("pressure_drop_Pa", "loss_coefficient", "differential_resistance_kPa_s_per_L")


@pytest.fixture(scope="module")
def bore():
    return bore_from_dimensions(
        length=30 * MM, cup_diameter=8 * MM, cup_depth=6 * MM, cup_shape=0.0,
        throat_diameter=4 * MM, throat_length=4 * MM, entry=Entry("rounded", (1 * MM,)),
        backbore_end_diameter=6 * MM, backbore_taper="straight",
    )  # fmt: skip


@pytest.fixture
def solve(bore, monkeypatch):
    """One case's job of a model: its results, and the rates that its solver was left to solve."""

    def run(model, folder, rates, source="same", inlet="uniform", transition=BY_RULE, **options):
        asked = []
        solver = meshes.solve_rates

        def watched(meshes, air, those, *arguments, known, **options):
            asked.extend(rate for index, rate in enumerate(those) if index not in known)
            return solver(meshes, air, those, *arguments, known=known, **options)

        results = folder / f"{model}.json"
        with monkeypatch.context() as patch:
            patch.setattr(meshes, "solve_rates", watched)
            flow_stage(
                model=model,
                bore=bore,
                meshes=[folder / f"{model}-{index}.msh" for index in range(2)],
                air=humid_air(),
                rates=rates,
                inlet=inlet,
                resolution="draft",
                transition=transition,
                source=source,
                results=results,
                fields=folder / model,
                **options,
            )
        return json.loads(results.read_text()), asked

    return run


@pytest.mark.parametrize("solution", ["estimate", "laminar", "turbulent"])
def test_a_new_rate_is_solved_alone_and_gives_what_a_fresh_run_gives(solution, solve, tmp_path):
    low, between, high = RATES[solution]
    _, first = solve(solution, tmp_path / "one", [low, high])
    assert first == [low, high]
    for path in (tmp_path / "one" / solution).glob("*"):
        path.unlink()
    again, asked = solve(solution, tmp_path / "one", [low, between, high])
    assert asked == [between]
    assert again["reused_rates_L_per_s"] == pytest.approx([1e3 * low, 1e3 * high])
    fresh, _ = solve(solution, tmp_path / "two", [low, between, high])
    for row, other in zip(again["rates"], fresh["rates"], strict=True):
        assert row["converged"]
        assert (tmp_path / "one" / solution / row["field"]).stat().st_size > 1000
        for key in FIGURES:
            near = pytest.approx(other[key], rel=SOLVER[solution])
            assert row[key] == near
            error = f"{key}_uncertainty"
            apart = SOLVER[solution] * abs(other[key])
            assert row[error] == pytest.approx(other[error], abs=10 * apart)
    assert again["unknowns"] == fresh["unknowns"]


@pytest.mark.parametrize("solution", ["laminar"])
def test_a_rate_that_is_left_out_solves_nothing(solution, solve, tmp_path):
    low, between, high = RATES[solution]
    whole, _ = solve(solution, tmp_path, [low, between, high])
    fewer, asked = solve(solution, tmp_path, [low, high])
    assert asked == []
    assert [row["pressure_drop_Pa"] for row in fewer["rates"]] == [
        whole["rates"][0]["pressure_drop_Pa"],
        whole["rates"][2]["pressure_drop_Pa"],
    ]


def test_other_sources_and_another_inlet_solve_everything_again(solve, tmp_path):
    rates = RATES["laminar"][:2]
    solve("laminar", tmp_path, rates)
    assert solve("laminar", tmp_path, rates, source="changed")[1] == rates
    assert solve("laminar", tmp_path, rates, source="changed", inlet="developed")[1] == rates
    assert solve("laminar", tmp_path, rates, source="changed", inlet="developed")[1] == []
    assert len(list((tmp_path / "solved" / "laminar").iterdir())) == 1


def test_a_damaged_field_is_solved_again(solve, tmp_path):
    rates = RATES["laminar"][:2]
    solve("laminar", tmp_path, rates)
    field = next((tmp_path / "solved" / "laminar").glob("*/0.01_L_per_s.vtu"))
    field.write_bytes(field.read_bytes()[:1000])
    assert solve("laminar", tmp_path, rates)[1] == rates[:1]


def test_another_place_of_transition_solves_the_best_estimate_again(solve, tmp_path):
    rates = RATES["estimate"][:1]
    whole, _ = solve("estimate", tmp_path, rates)
    moved, asked = solve("estimate", tmp_path, rates, transition=Transition(distance_factor=0.5))
    assert asked == rates
    places = [found["rates"][0]["transition_position_mm"] for found in (whole, moved)]
    assert places[1] < places[0]
    turbulent, asked = solve("estimate", tmp_path, rates, transition=Transition("rim plane"))
    assert turbulent["rates"][0]["transition_position_mm"] == 0
    assert asked == rates


def test_a_kept_rate_keeps_its_derivatives_and_other_dimensions_solve_it_again(
    bore, solve, tmp_path
):
    """A pipe of 10 mm behind the shank, which goes with the dimensions too."""
    (rate,) = rates = RATES["laminar"][:1]
    wider = [
        variation(lambda d, part=part: moved_wall(bore, part, d), 0.0, key=part)
        for part in ("throat", "backbore")
    ]
    fresh, asked = solve("laminar", tmp_path, rates, dimensions=wider, pipe_behind=10 * MM)
    assert asked == [rate]
    found = fresh["rates"][0]["by_dimension"]
    assert set(found) == {"throat", "backbore"}
    drop = found["throat"]
    halves = drop["pressure_drop_to_throat_end_Pa"] + drop["backbore_pressure_drop_Pa"]
    assert drop["pressure_drop_Pa"] == pytest.approx(halves, rel=1e-9)
    assert drop["pressure_drop_Pa"] < 0
    assert drop["pressure_drop_Pa_uncertainty"] > 0
    assert len(drop["levels"]["pressure_drop_Pa"]) == 2
    again, asked = solve("laminar", tmp_path, rates, dimensions=wider, pipe_behind=10 * MM)
    assert asked == []
    assert again["rates"][0]["by_dimension"] == found
    fewer, asked = solve("laminar", tmp_path, rates, dimensions=wider[:1], pipe_behind=10 * MM)
    assert asked == [rate]
    assert set(fewer["rates"][0]["by_dimension"]) == {"throat"}


def moved_wall(bore, part, amount):
    """The bore with the radius of a part's end larger, and what joins it there."""
    end = bore.part_ranges[part][1]
    segments = []
    for segment in bore.segments:
        points = segment.points.copy()
        points[points[:, 0] == end, 1] += amount
        segments.append(replace(segment, points=points))
    return Bore(segments, bore.entry)
