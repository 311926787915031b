"""What the validation says of its numbers, and what its figures show."""

import numpy as np
import pytest

from borestudy.quantity import Quantity
from borestudy.records import read_record, write_record
from borestudy.validation import VALIDATIONS
from borestudy.validation.entry import (
    RADII,
    EntryLoss,
    drop_check,
    entry_bore,
    entry_checks,
    falling,
)
from borestudy.validation.figures import draw_entry_losses, draw_friction, draw_widening
from borestudy.validation.ladder import Curve, curve
from borestudy.validation.pipe import log_law, pipe_checks
from borestudy.validation.widening import (
    CONES,
    IDEAL,
    recovery_check,
    widening_checks,
)

from .made import ENTRIES, PIPE, WIDENINGS, losses


def test_line_through_a_stretch_of_the_wall_leaves_out_the_rest():
    position = np.linspace(0, 80, 161)
    wall = curve(position, np.where(position < 20, 7.0, 3 - 0.02 * position))
    assert wall.fit(48, 72) == pytest.approx((-0.02, 3.0))


def test_a_curve_is_moved_before_it_is_scaled():
    moved = Curve((1.0, 2.0), (5.0, 7.0)).moved(1.0, 5.0, 4.0)
    assert moved == Curve((0.0, 4.0), (0.0, 2.0))
    assert moved.at(1.0) == pytest.approx(0.5)


def test_loss_that_rises_once_on_one_mesh_is_not_called_falling():
    check = falling(losses([0.5, 0.5], [0.3, 0.3], [0.2, 0.31]), 1e4)
    assert check.computed == pytest.approx(0.75)
    assert check.verdict == "fail"


def test_profile_of_the_logarithmic_law_itself_deviates_by_nothing():
    y_plus = np.geomspace(1, 900, 60)
    found = curve(y_plus, 2.5 * np.log(y_plus) + 5.5)
    assert log_law("20000", found).computed == pytest.approx(1.0)


@pytest.mark.parametrize(("off", "verdict"), [(1.02, "pass"), (1.05, "fail"), (0.95, "fail")])
def test_profile_5_percent_off_the_logarithmic_law_fails(off, verdict):
    y_plus = np.geomspace(1, 900, 60)
    found = curve(y_plus, off * (2.5 * np.log(y_plus) + 5.5))
    assert log_law("20000", found).verdict == verdict


#: Median of Rennels, Crane, Miller, Idelchik, Harris and Swamee by edge radius over diameter.
MEDIANS = {0.0: 0.500, 0.02: 0.3635, 0.06: 0.185, 0.10: 0.1015, 0.20: 0.0495}


@pytest.mark.parametrize("radius", RADII)
def test_entry_that_loses_nothing_or_0_1_q_too_much_fails(radius):
    """Allowed are 5 % of 1 + K at every radius, and not the handbooks' whole span."""

    def check(loss):
        return drop_check(EntryLoss(radius, 1e4, Quantity(loss, None)))

    median = MEDIANS[radius]
    assert check(median).deviation_percent == pytest.approx(0, abs=0.1)
    assert check(median + 0.04).verdict == "pass"
    assert check(median + 0.1).verdict == "fail"
    assert check(median - 0.1).verdict == "fail"
    assert radius > 0.1 or check(0.0).verdict == "fail"


def test_diffuser_without_loss_or_with_a_laminar_jets_fails():
    """A cone of 7 degrees: four of six handbooks have 0.075 to 0.095, a jet loses 0.66 or more."""
    assert CONES[0].length == pytest.approx(0.5 / np.tan(np.radians(3.5)))
    assert recovery_check(CONES[0], Quantity(0.09, None)).verdict == "pass"
    for loss in (0.0, 0.2, 0.66):
        assert recovery_check(CONES[0], Quantity(loss, None)).verdict == "fail"


@pytest.mark.parametrize("cone", CONES[1:])
def test_a_backbores_cone_without_loss_or_with_a_laminar_jets_fails(cone):
    assert cone.diameter_ratio**2 == pytest.approx(6, rel=2e-3)
    for loss, verdict in ((0.0, "fail"), (0.11, "pass"), (0.2, "fail"), (0.7, "fail")):
        assert recovery_check(cone, Quantity(loss, None)).verdict == verdict


def test_rounded_entry_leaves_the_face_and_meets_the_tube_without_an_edge():
    """Two right angles and a smooth arc: the turns are the reservoir's inner corner alone."""
    turns = entry_bore(0.1).turns
    assert min(turns) == pytest.approx(-np.pi / 2)
    assert np.abs(np.delete(turns, np.argmin(turns))).max() < 1e-6


@pytest.mark.parametrize(
    ("flow", "record"), [("pipe", PIPE), ("entry", ENTRIES), ("widening", WIDENINGS)]
)
def test_checks_of_a_record_are_those_of_the_file_it_was_written_to(flow, record, tmp_path):
    found = VALIDATIONS[flow]
    write_record(tmp_path / "flow.json", record)
    read = read_record(tmp_path / "flow.json", found.record)
    assert read == record
    assert found.checks(read) == found.checks(record)


def test_each_check_carries_the_uncertainty_of_what_was_computed():
    assert [check.uncertainty for check in pipe_checks(PIPE)] == [
        PIPE.friction["5000"].uncertainty, PIPE.friction["10000"].uncertainty, None
    ]  # fmt: skip
    drop = entry_checks(ENTRIES)[0]
    assert drop.computed == pytest.approx(1.51)
    assert drop.uncertainty == ENTRIES.entries[0].loss.uncertainty
    expansion, cone, *_ = widening_checks(WIDENINGS)
    assert expansion.computed == pytest.approx(0.52)
    assert cone.computed == pytest.approx(IDEAL - 0.10)
    assert cone.uncertainty == WIDENINGS.cones[0].loss.uncertainty


def test_friction_figure_prints_each_deviation(tmp_path):
    """Prandtl and von Kármán give 0.03089 at 1e4 (Schlichting's table: 0.0309)."""
    record = draw_friction(PIPE, tmp_path)
    assert "+2.5 %" in record.svg_path.read_text(encoding="utf-8")


def test_entry_and_widening_figures_name_what_they_are_held_against(tmp_path):
    text = draw_entry_losses(ENTRIES, tmp_path).svg_path.read_text(encoding="utf-8")
    assert "handbooks, least to greatest" in text
    assert "computed, Re 10\u202f000" in text or "computed, Re 10 000" in text
    text = draw_widening(WIDENINGS, tmp_path).svg_path.read_text(encoding="utf-8")
    assert "Borda and Carnot" in text
    assert "end of the cone" in text
