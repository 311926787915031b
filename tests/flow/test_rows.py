"""What a row says of its own certainty."""

import pytest

from borestudy.flow.uncertainty import (
    foretold,
    judge_pressure_drop,
    places_with_uncertainties,
)


def row_of(drops: list[float], ladder: float, halves: tuple[float, float] = (0.0, 0.0)) -> dict:
    return {
        "pressure_drop_Pa": drops[-1],
        "pressure_drop_Pa_uncertainty": ladder,
        "pressure_drop_to_throat_end_Pa": 1.1 * drops[-1],
        "pressure_drop_to_throat_end_Pa_uncertainty": halves[0],
        "backbore_pressure_drop_Pa_uncertainty": halves[1],
        "loss_coefficient_uncertainty": 0.001,
        "dynamic_pressure_Pa": 20.0,
        "flow_rate_L_per_s": 0.1,
        "differential_resistance_kPa_s_per_L_uncertainty": 1e-6,
        "levels": {"pressure_drop_Pa": drops},
    }


@pytest.mark.parametrize(
    ("halves", "energy", "estimate", "expected"),
    [
        ((0.3, 0.4), 0.0, 0.0, 0.5),
        ((0.0, 0.0), 0.6, 0.0, 0.6),
        ((0.0, 0.0), 0.0, -0.7, 0.7),
        ((0.0, 0.0), 0.0, 0.0, 0.01),
    ],
)
def test_a_chance_agreement_of_two_grids_is_not_believed(
    halves: tuple[float, float], energy: float, estimate: float, expected: float
) -> None:
    row = row_of([9.999, 10.0], 0.01, halves)
    judge_pressure_drop(row, [0.0, estimate], energy, tolerance=0.01)
    assert not row["mesh_step_foretold"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(expected)
    # the loss is the drop over q and kinetic energy, which the mesh leaves nearly as it is
    assert row["loss_coefficient_uncertainty"] == pytest.approx(max(0.001, expected / 20))
    assert row["tolerance_reached"] == (expected <= 0.1)
    # the slope of a drop that goes as Q² is twice the drop over the flow rate, and so is its error
    slope = row["differential_resistance_kPa_s_per_L_uncertainty"]
    assert slope == pytest.approx(2 * 1e-3 * expected / 0.1)


def test_a_step_that_the_weighted_residual_foretold_is_trusted_as_three_grids_are() -> None:
    row = row_of([9.8, 10.0], 0.48, (0.4, 0.4))
    judge_pressure_drop(row, [0.25, 0.05], energy=0.0, tolerance=0.03)
    assert row["mesh_step_foretold"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(0.48 * 1.25 / 3)
    assert row["tolerance_reached"]


def test_three_meshes_have_shown_their_order_and_are_trusted_no_more_for_a_foretold_step() -> None:
    row = row_of([9.0, 9.8, 10.0], 0.1)
    judge_pressure_drop(row, [1.0, 0.25, 0.05], energy=0.0, tolerance=0.01)
    assert row["mesh_step_foretold"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(0.1)


def test_no_foretold_step_is_trusted_below_the_scatter_of_meshes() -> None:
    row = row_of([9.9999, 10.0], 0.0003)
    judge_pressure_drop(row, [0.0001, 0.0], energy=0.0, tolerance=0.01)
    assert row["mesh_step_foretold"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(5e-4 * 10)


def test_the_backbores_share_scatters_as_the_drops_whose_difference_it_is() -> None:
    row = row_of([9.9, 10.0], 0.3, (0.2, 1e-4))
    judge_pressure_drop(row, [0.1, 0.0], energy=0.0, tolerance=0.01)
    assert row["backbore_pressure_drop_Pa_uncertainty"] == pytest.approx(5e-4 * 11)
    without = row_of([9.9, 10.0], 0.3) | {"backbore_pressure_drop_Pa_uncertainty": None}
    judge_pressure_drop(without, [0.1, 0.0], energy=0.0, tolerance=0.01)
    assert without["backbore_pressure_drop_Pa_uncertainty"] is None


def test_no_step_is_trusted_below_what_the_weighted_residual_still_sees() -> None:
    row = row_of([9.8, 10.0], 0.48)
    judge_pressure_drop(row, [0.5, 0.19], energy=0.0, tolerance=0.01)
    assert row["mesh_step_foretold"]
    assert row["pressure_drop_Pa_uncertainty"] == pytest.approx(1.25 * 0.19)


@pytest.mark.parametrize(
    ("drops", "estimates"),
    [
        ([9.8, 10.0], [-0.25, -0.05]),
        ([9.8, 10.0], [0.05, 0.0]),
        ([9.8, 10.0], [0.95, 0.3]),
        ([10.0, 10.0], [0.2, 0.1]),
        ([10.0], [0.2]),
    ],
    ids=["other direction", "a quarter of it", "less than to come", "no step", "one mesh"],
)
def test_a_step_is_not_foretold(drops: list[float], estimates: list[float]) -> None:
    assert not foretold(drops, estimates)


def place(*positions: float, jet: float | None = 0.9) -> dict:
    """One mesh's places: where the flow leaves the wall, and its jet."""
    return {"jet_contraction": jet, "separations": [{"separation_mm": at} for at in positions]}


def test_places_that_every_mesh_found_have_an_uncertainty_and_others_none() -> None:
    known = places_with_uncertainties([place(10.0), place(10.4)], 1.5)
    (bubble,) = known["separations"]
    assert bubble["separation_mm"] == 10.4
    # two meshes, order 2: three times the step over 1.5² - 1
    assert bubble["separation_mm_uncertainty"] == pytest.approx(3 * 0.4 / 1.25)
    assert known["jet_contraction_uncertainty"] == pytest.approx(5e-4 * 0.9)
    apart = places_with_uncertainties([place(10.0, 30.0), place(10.4)], 1.5)
    assert apart["separations"][0]["separation_mm_uncertainty"] is None
    alone = places_with_uncertainties([place(10.0)], 1.5)
    assert alone["separations"][0]["separation_mm_uncertainty"] is None
    lost = places_with_uncertainties([place(10.0, jet=None), place(10.4)], 1.5)
    assert lost["jet_contraction_uncertainty"] is None
