"""Comparison errors, the rows that ship, and verdicts that can come out either way."""

from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from borestudy.closed_form.nozzle_taps import JET_VELOCITY
from borestudy.records import read_record, write_record
from borestudy.results.comparison_errors import (
    COLUMNS,
    KINDS,
    PARTS,
    SHIPPED,
    comparison_table,
    differences,
    read_comparisons,
    shipped_comparisons,
)
from borestudy.validation import VALIDATIONS
from borestudy.validation.orifices import (
    AREA_RATIO,
    OrificeDrops,
    orifice_bore,
    orifice_checks,
    orifice_errors,
)
from borestudy.validation.playing import (
    SIMULATED,
    playing_bore,
    playing_checks,
    simulation_errors,
)
from borestudy.validation.reversed_nozzle import half_way, reversed_bore, reversed_checks

from .made import made_jet, made_orifices, made_playing

ROW = orifice_errors(made_orifices(1.05))[0]


def test_error_is_estimate_less_measured_and_its_uncertainty_both():
    row = replace(
        ROW, estimate=1.5, measured=1.4, estimate_uncertainty=0.03, measured_uncertainty=0.04
    )
    assert row.error == pytest.approx(0.1)
    assert row.validation_uncertainty == pytest.approx(0.05)


def test_rows_are_read_back_as_they_were_written(tmp_path):
    rows = tuple(orifice_errors(made_orifices(1.05)))
    comparison_table(rows).to_csv(tmp_path / "rows.csv", index=False)
    text = (tmp_path / "rows.csv").read_text(encoding="utf-8")
    assert read_comparisons(text.splitlines()) == rows


def test_shipped_rows_are_a_file_of_the_package_with_the_tables_columns():
    text = files("borestudy.results").joinpath(SHIPPED).read_text(encoding="utf-8")
    assert text.splitlines()[0] == ",".join(COLUMNS)
    rows = shipped_comparisons()
    assert len(rows) == len(text.splitlines()) - 1
    assert {row.part for row in rows} <= set(PARTS)
    assert {row.kind for row in rows} <= set(KINDS)
    assert all(0 <= row.turbulent_share <= 1 and 0 <= row.sharpness <= 1 for row in rows)
    assert all(np.isfinite([row.error, row.validation_uncertainty]).all() for row in rows)
    assert all(row.measured_uncertainty > 0 for row in rows)
    assert len({row.key for row in rows}) == len(rows)


def test_a_row_off_by_more_than_both_numerical_uncertainties_differs():
    old = replace(ROW, estimate=1.5, estimate_uncertainty=0.03)
    for estimate, count in ((1.54, 0), (1.56, 1), (1.44, 1), (float("nan"), 1)):
        new = replace(old, estimate=estimate, estimate_uncertainty=0.04)
        assert len(differences([old], [new])) == count
    (words,) = differences([old], [replace(old, measured=1.2)])
    assert "measured 1.2" in words


def test_missing_and_new_rows_are_named():
    other = replace(ROW, flow="another")
    words = differences([ROW], [other])
    assert len(words) == 2
    assert "no longer found" in words[0]
    assert "another" in words[1]


@pytest.mark.parametrize(("factor", "verdict"), [(1.0, "pass"), (1.15, "fail"), (0.85, "fail")])
def test_orifices_pass_within_the_coefficients_error_and_10_percent(factor, verdict):
    """0.02 in Cd is 5 to 8 % of the drop, with 10 % 11 to 13 %."""
    checks = orifice_checks(made_orifices(factor))
    assert {check.verdict for check in checks} == {verdict}
    assert all(11 < check.tolerance_percent < 13 for check in checks)


def test_an_orifice_that_was_not_found_fails(tmp_path):
    found = made_orifices()
    lost = replace(found, orifices=(replace(found.orifices[0], drop=None), *found.orifices[1:]))
    write_record(tmp_path / "orifices.json", lost)
    read = read_record(tmp_path / "orifices.json", OrificeDrops)
    assert read == lost
    assert [c.verdict for c in orifice_checks(read)] == ["fail", "pass", "pass", "pass"]


def test_orifice_lies_in_a_pipe_four_times_as_wide_and_ends_at_a_step():
    bore = orifice_bore(4.0)
    assert bore.rim_radius / bore.throat_radius == pytest.approx(4)
    assert pytest.approx(1 / 16) == AREA_RATIO
    (row, *_) = [row for row in orifice_errors(made_orifices()) if row.throat_length_D == 10]
    assert row.cone_angle_deg == 180
    assert row.sharpness == 1


def test_simulated_drops_pass_as_they_are_and_fail_with_the_other_sign():
    found = made_playing()
    assert {check.verdict for check in playing_checks(found)} == {"pass"}
    assert len(simulation_errors(found)) == 3
    drops = (replace(one, drop=replace(one.drop, value=-one.drop.value)) for one in found.drops)
    turned = replace(found, drops=tuple(drops))
    assert {check.verdict for check in playing_checks(turned)} == {"fail"}


def test_simulation_is_no_surer_than_11_percent_of_the_drop_to_the_throats_end():
    for row in simulation_errors(made_playing()):
        assert row.measured_uncertainty == pytest.approx(0.15, abs=0.015)
        # more than the drop moved between 48 and 80 cells
        assert row.measured_uncertainty > 0.75 - 0.63
        assert row.measured in SIMULATED[row.flow.split("entry ")[1]].values()


def test_playing_bore_is_rounded_or_square():
    assert playing_bore("rounded 1 mm").throat_start > playing_bore("square").throat_start


def test_measured_jet_passes_and_one_that_is_a_fifth_faster_fails():
    names = [check.quantity for check in reversed_checks(made_jet())]
    assert len(names) == sum(len(places) for places in JET_VELOCITY.values()) + 1
    # between 8 and 15 diameters only the ends are known
    verdicts = [check.verdict for check in reversed_checks(made_jet())]
    assert set(verdicts) == {"pass"}
    fast = [c for c in reversed_checks(made_jet(1.2)) if c.unit == "U" and "15" not in c.quantity]
    assert {check.verdict for check in fast} == {"fail"}


@pytest.mark.parametrize(("moved", "verdict"), [(0.45, "fail"), (1.0, "pass"), (1.6, "fail")])
def test_a_jet_that_breaks_up_elsewhere_fails(moved, verdict):
    found = made_jet()
    rates = tuple(
        replace(rate, axis=tuple(line.moved(0.0, 0.0, moved) for line in rate.axis))
        for rate in found.rates
    )
    checks = reversed_checks(replace(found, rates=rates))
    (place,) = [check for check in checks if check.unit == "D"]
    assert place.verdict == verdict


def test_half_way_lies_between_the_expansions_velocity_and_the_filled_pipes():
    (line,) = made_jet().rates[2].axis
    half = 0.5 * (1.370 + 1 / 9)
    assert line.at(half_way(line)) == pytest.approx(half)


def test_reversed_nozzle_is_the_other_ones_throat_between_a_cone_and_a_step():
    bore = reversed_bore()
    assert bore.throat_end - bore.throat_start == pytest.approx(10)
    assert bore.shank_radius / bore.throat_radius == pytest.approx(3)


@pytest.mark.parametrize("flow", [name for name in VALIDATIONS if name not in ("bores",)])
def test_every_family_of_the_estimates_pressures_gives_errors(flow):
    without = VALIDATIONS[flow].errors is VALIDATIONS["bores"].errors
    assert without == (flow in ("reversed-nozzle", "entry"))
