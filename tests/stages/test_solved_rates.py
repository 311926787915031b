"""A changed list of flow rates solves the new rates only, and gives what a fresh run gives."""

import json

import pytest

from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions
from borestudy.mesh import LAMINAR, write_mesh
from borestudy.stages import closure, flow
from borestudy.stages.closure import closure_stage
from borestudy.stages.flow import flow_stage

MM = 1e-3
LEVELS = (-2, -1)
#: Newton's method ends at a residual of 1e-9 or less and squares it with each step; the turbulent
#: iteration ends at 1e-8, and a figure is off by as much, times a condition of some hundred.
SOLVER = {"flow": 1e-6, "closure": 1e-5}
RATES = {"flow": [1e-5, 2e-5, 3e-5], "closure": [1.5e-4, 2e-4, 2.5e-4]}
SOLVERS = {"flow": (flow, "solve_flow"), "closure": (closure, "solve_closure")}
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
    """One case's job of a solution: its results, and the rates it gave to the solver."""

    def run(solution, folder, rates, source="same", inlet="uniform"):
        asked = []
        module, name = SOLVERS[solution]
        solver = getattr(module, name)

        def watched(meshes, air, those, *arguments, **options):
            asked.extend(those)
            return solver(meshes, air, those, *arguments, **options)

        results, fields = folder / f"{solution}.json", folder / solution
        meshes = [folder / f"{solution}-{index}.msh" for index in range(2)]
        common = {"bore": bore, "meshes": meshes, "air": humid_air(), "rates": rates,
                  "inlet": inlet, "source": source, "results": results,
                  "fields": fields}  # fmt: skip
        with monkeypatch.context() as patch:
            patch.setattr(module, name, watched)
            if solution == "flow":
                for level, mesh in zip(LEVELS, meshes, strict=True):
                    write_mesh(bore, mesh, LAMINAR, level)
                flow_stage(**common)
            else:
                closure_stage(**common, resolution="draft")
        return json.loads(results.read_text()), asked

    return run


@pytest.mark.parametrize("solution", ["flow", "closure"])
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


@pytest.mark.parametrize("solution", ["flow"])
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
    rates = RATES["flow"][:2]
    solve("flow", tmp_path, rates)
    assert solve("flow", tmp_path, rates, source="changed")[1] == rates
    assert solve("flow", tmp_path, rates, source="changed", inlet="developed")[1] == rates
    assert solve("flow", tmp_path, rates, source="changed", inlet="developed")[1] == []
    assert len(list((tmp_path / "solved" / "flow").iterdir())) == 1


def test_a_damaged_field_is_solved_again(solve, tmp_path):
    rates = RATES["flow"][:2]
    solve("flow", tmp_path, rates)
    field = next((tmp_path / "solved" / "flow").glob("*/0.01_L_per_s.vtu"))
    field.write_bytes(field.read_bytes()[:1000])
    assert solve("flow", tmp_path, rates)[1] == rates[:1]
