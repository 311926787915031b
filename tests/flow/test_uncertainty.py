"""What a flow rate's record says of its own certainty."""

from dataclasses import replace

import pytest

from borestudy.flow.at_rate import separations
from borestudy.flow.observables.separation import Bubble
from borestudy.flow.refinement import with_floors
from borestudy.flow.result import DropSlope, FlowAtRate
from borestudy.flow.uncertainty import (
    estimator_consistent,
    from_ladder,
    judge_pressure_drop,
)
from borestudy.quantity import Quantity

#: Pascals in a unit of the loss coefficient (q), and of the slope at 0.1 L/s.
FACTORS = {"loss_coefficient": 20.0, "differential_resistance": 1e3 * 0.1}


def figures_of(
    drops: list[float], ladder: float, halves: tuple[float, float] = (0.0, 0.0)
) -> dict[str, Quantity]:
    return {
        "pressure_drop": Quantity(drops[-1], ladder, "Pa", tuple(drops)),
        "pressure_drop_to_throat_end": Quantity(1.1 * drops[-1], halves[0], "Pa"),
        "backbore_pressure_drop": Quantity(-0.1 * drops[-1], halves[1], "Pa"),
        "loss_coefficient": Quantity(0.4, 0.001),
        "differential_resistance": Quantity(0.2, 1e-6, "kPa_s_per_L"),
    }


def error_of(figures: dict[str, Quantity], name: str = "pressure_drop") -> float:
    error = figures[name].uncertainty
    assert error is not None
    return error


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
    figures = figures_of([9.999, 10.0], 0.01, halves)
    assert judge_pressure_drop(figures, [0.0, estimate], energy, FACTORS) is False
    # the backbore's own is no less than what the drops scatter by, 5e-4 of 11
    expected = max(expected, 5e-4 * 11)
    assert error_of(figures) == pytest.approx(expected, rel=1e-3)
    # the loss is the drop over q and kinetic energy, which the mesh leaves nearly as it is
    assert error_of(figures, "loss_coefficient") == pytest.approx(
        max(0.001, error_of(figures) / 20)
    )
    # the slope of a drop that goes as Q² is twice the drop over the flow rate, and so is its error
    slope = error_of(figures, "differential_resistance")
    assert slope == pytest.approx(2 * 1e-3 * error_of(figures) / 0.1)


def test_a_step_that_the_weighted_residual_predicted_is_trusted_as_three_grids_are() -> None:
    figures = figures_of([9.8, 10.0], 0.48, (0.4, 0.4))
    assert judge_pressure_drop(figures, [0.25, 0.05], 0.0, FACTORS) is True
    assert error_of(figures) == pytest.approx(0.48 * 1.25 / 3)


def test_three_meshes_have_shown_their_order_and_are_trusted_no_more_for_a_predicted_step() -> None:
    figures = figures_of([9.0, 9.8, 10.0], 0.1)
    assert judge_pressure_drop(figures, [1.0, 0.25, 0.05], 0.0, FACTORS) is True
    assert error_of(figures) == pytest.approx(0.1)


def test_no_predicted_step_is_trusted_below_the_scatter_of_meshes() -> None:
    figures = figures_of([9.9999, 10.0], 0.0003)
    assert judge_pressure_drop(figures, [0.0001, 0.0], 0.0, FACTORS) is True
    assert error_of(figures) == pytest.approx(5e-4 * 10)


def test_the_backbores_share_scatters_as_the_drops_whose_difference_it_is() -> None:
    figures = figures_of([9.9, 10.0], 0.3, (0.2, 1e-4))
    judge_pressure_drop(figures, [0.1, 0.0], 0.0, FACTORS)
    assert error_of(figures, "backbore_pressure_drop") == pytest.approx(5e-4 * 11)


def test_without_a_throats_end_the_whole_is_judged_alone() -> None:
    figures = figures_of([9.999, 10.0], 0.01)
    del figures["pressure_drop_to_throat_end"], figures["backbore_pressure_drop"]
    assert judge_pressure_drop(figures, [0.0, 0.0], 0.0, FACTORS) is False
    assert error_of(figures) == pytest.approx(0.01)


def test_no_step_is_trusted_below_what_the_weighted_residual_still_sees() -> None:
    figures = figures_of([9.8, 10.0], 0.48)
    assert judge_pressure_drop(figures, [0.5, 0.19], 0.0, FACTORS) is True
    assert error_of(figures) == pytest.approx(1.25 * 0.19)


def test_without_a_weighted_residual_the_ladder_and_the_energy_speak() -> None:
    figures = figures_of([9.8, 10.0], 0.48, (0.4, 0.4))
    assert judge_pressure_drop(figures, None, 0.0, FACTORS) is None
    assert error_of(figures) == pytest.approx(0.48)
    judge_pressure_drop(figures, None, 0.6, FACTORS)
    assert error_of(figures) == pytest.approx(0.6)


def test_an_uncertainty_that_one_mesh_cannot_know_stays_unknown() -> None:
    figures = figures_of([10.0], 0.0)
    figures["pressure_drop"] = Quantity(10.0, None, "Pa", (10.0,))
    assert judge_pressure_drop(figures, [0.1], 0.3, FACTORS) is False
    assert figures["pressure_drop"].uncertainty is None


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
def test_an_estimator_is_not_consistent(drops: list[float], estimates: list[float]) -> None:
    assert not estimator_consistent(drops, estimates)


def rate_of(
    rate: float, dynamic: float, share: float, consistent: bool | None = None
) -> FlowAtRate:
    return FlowAtRate(
        flow_rate_L_per_s=rate,
        converged=True,
        dynamic_pressure_Pa=dynamic,
        error_estimator_consistent=consistent,
        pressure_drop=Quantity(dynamic, share * dynamic, "Pa"),
    )


def test_a_rate_at_which_two_meshes_agree_by_chance_is_no_surer_than_half_its_neighbours() -> None:
    """The difference between the meshes, in q: 0.8 %, none, −0.6 %; uncertainties grow with q."""
    rates = [rate_of(0.1, 100.0, 0.008), rate_of(0.2, 400.0, 0.0), rate_of(0.3, 900.0, 0.006)]
    found = with_floors(rates, tolerance=0.0065)
    errors = [rate.pressure_drop.uncertainty for rate in found if rate.pressure_drop]
    assert errors == pytest.approx([0.8, 0.5 * 0.008 * 400, 5.4])
    assert [rate.tolerance_reached for rate in found] == [False, True, True]
    # no floor under a rate that its weighted residual speaks for, nor under one without a solution
    sure = with_floors([rates[0], rate_of(0.2, 400.0, 1e-3, True), rates[2]], 0.0065)[1]
    assert sure.pressure_drop is not None
    assert sure.pressure_drop.uncertainty == pytest.approx(0.4)
    lost = replace(rates[1], converged=False, pressure_drop=None)
    assert with_floors([rates[0], lost, rates[2]], 0.0065)[1] == lost


def changing(
    rate: float, drop: float, slope: float, error: float | None, place: float | None
) -> FlowAtRate:
    """A rate [L/s] with what a bowl's depth does to its drop [Pa/mm] and slope [kPa s/L per mm]."""
    by_depth = DropSlope(
        pressure_drop=Quantity(drop, 0.5, "Pa"),
        backbore_pressure_drop=Quantity(drop, 0.5, "Pa"),
        differential_resistance=Quantity(slope, error, "kPa_s_per_L"),
    )
    found = rate_of(rate, 100.0, 1e-3)
    return replace(found, transition_position_mm=place, by_dimension={"depth": by_depth})


def slope_errors(rates: list[FlowAtRate]) -> list[float | None]:
    found = [rate.by_dimension["depth"].differential_resistance for rate in with_floors(rates, 0.1)]
    assert all(found)
    return [one.uncertainty for one in found if one is not None]


def test_what_a_dimension_does_to_the_slope_is_held_against_neighbouring_rates() -> None:
    """Drops of 10, 20, 60 and 50 Pa/mm at 0.1, 0.2, 0.3 and 0.4 L/s.

    Their differences are 0.1, 0.4 and -0.1 kPa s/L per mm; at the rates, equally far apart, 0.1,
    0.25, 0.15 and -0.1.
    """
    rates = [
        changing(0.1, 10.0, 0.3, 0.01, None),
        changing(0.2, 20.0, 0.3, 0.01, 40.0),
        changing(0.3, 60.0, 0.2, 0.07, 30.0),
        changing(0.4, 50.0, 0.2, None, 20.0),
    ]
    # laminar as it was; less sure; sure enough; one mesh knows nothing of itself
    assert slope_errors(rates) == pytest.approx([0.01, 0.05, 0.07, None])
    last = replace(rates[3], by_dimension=changing(0.4, 50.0, 0.2, 0.01, 20.0).by_dimension)
    assert slope_errors([last, *rates[:3]]) == pytest.approx([0.3, 0.01, 0.05, 0.07])
    for before, after in zip(rates, with_floors(rates, 0.1), strict=True):
        own, found = before.by_dimension["depth"], after.by_dimension["depth"]
        slope = found.differential_resistance
        assert replace(own, differential_resistance=slope) == found
        assert replace(before, by_dimension=after.by_dimension, tolerance_reached=True) == after


def test_of_rates_not_equally_far_apart_the_nearer_counts_more() -> None:
    """Differences of 0.1 over 0.1 L/s and 0.4 over 0.3 L/s: at the middle (3 × 0.1 + 0.4) / 4."""
    rates = [
        changing(rate, drop, -0.2, 0.01, 30.0)
        for rate, drop in ((0.1, 10.0), (0.2, 20.0), (0.5, 140.0))
    ]
    assert slope_errors(rates) == pytest.approx([0.3, 0.375, 0.6])


def test_of_one_rate_alone_the_order_of_size_is_known_where_the_flow_turns_turbulent() -> None:
    lost = FlowAtRate(flow_rate_L_per_s=0.3, converged=False)
    for others in ([], [lost]):
        rates = [changing(0.2, 20.0, -0.3, 0.01, 40.0), *others]
        slope = with_floors(rates, 0.1)[0].by_dimension["depth"].differential_resistance
        assert slope is not None
        assert slope.uncertainty == pytest.approx(0.3)
    assert slope_errors([changing(0.2, 20.0, -0.3, 0.01, None)]) == [0.01]


def test_places_that_every_mesh_found_have_an_uncertainty_and_others_none() -> None:
    (bubble,) = separations([[Bubble(10.0, None)], [Bubble(10.4, 12.0)]], 1.5, unit=2.0)
    assert bubble.separation is not None
    assert bubble.separation.value == 20.8
    # two meshes, order 2: three times the step over 1.5² - 1
    assert bubble.separation.uncertainty == pytest.approx(3 * 0.8 / 1.25)
    assert bubble.reattachment is not None
    assert bubble.reattachment.value == 24.0
    assert bubble.reattachment.uncertainty is None
    (apart,) = separations([[Bubble(1.0, 2.0), Bubble(3.0, 4.0)], [Bubble(1.0, 2.0)]], 1.5, 1.0)
    assert apart.separation is not None
    assert apart.separation.uncertainty is None
    jet = from_ladder([0.9, 0.9], 1.5)
    assert jet is not None
    assert jet.uncertainty == pytest.approx(5e-4 * 0.9)
