"""What the validation says of its numbers, and what its figures show."""

import numpy as np
import pytest

from borestudy.validation.entry import RADII, drop_check, entry_bore, falling
from borestudy.validation.figures import draw_friction, draw_nozzle_segments
from borestudy.validation.nozzle_turbulent import (
    DIAMETER_MM,
    EDGE,
    MEASURED,
    nozzle_bore,
    segment,
    segment_row,
)
from borestudy.validation.pipe import log_law
from borestudy.validation.walls import WallPressure
from borestudy.validation.widening import recovery_check


def test_line_through_a_stretch_of_the_wall_leaves_out_the_rest():
    position = np.linspace(0, 80, 161)
    wall = WallPressure(position, np.where(position < 20, 7.0, 3 - 0.02 * position))
    assert wall.line(48, 72) == pytest.approx((-0.02, 3.0))


def test_loss_that_rises_once_on_one_mesh_is_not_called_falling():
    ladders = {1e4: [[0.5, 0.5], [0.3, 0.3], [0.2, 0.31]]}
    (row,) = falling(ladders)
    assert row["computed"] == pytest.approx(0.75)
    assert row["verdict"] == "fail"


def test_profile_of_the_logarithmic_law_itself_deviates_by_nothing():
    y_plus = np.geomspace(1, 900, 60)
    found = {"y_plus": y_plus, "u_plus": 2.5 * np.log(y_plus) + 5.5}
    assert log_law(2e4, found)["computed"] == pytest.approx(1.0)


@pytest.mark.parametrize(("off", "verdict"), [(1.02, "pass"), (1.05, "fail"), (0.95, "fail")])
def test_profile_5_percent_off_the_logarithmic_law_fails(off, verdict):
    y_plus = np.geomspace(1, 900, 60)
    found = {"y_plus": y_plus, "u_plus": off * (2.5 * np.log(y_plus) + 5.5)}
    assert log_law(2e4, found)["verdict"] == verdict


#: Median of Rennels, Crane, Miller, Idelchik, Harris and Swamee by edge radius over diameter.
MEDIANS = {0.0: 0.500, 0.02: 0.3635, 0.06: 0.185, 0.10: 0.1015, 0.20: 0.0495}


@pytest.mark.parametrize("radius", RADII)
def test_entry_that_loses_nothing_or_0_1_q_too_much_fails(radius):
    """Allowed are 5 % of 1 + K at every radius, and not the handbooks' whole span."""
    median = MEDIANS[radius]
    assert drop_check(median, radius, 1e4).deviation_percent == pytest.approx(0, abs=0.1)
    assert drop_check(median + 0.04, radius, 1e4).verdict == "pass"
    assert drop_check(median + 0.1, radius, 1e4).verdict == "fail"
    assert drop_check(median - 0.1, radius, 1e4).verdict == "fail"
    assert radius > 0.1 or drop_check(0.0, radius, 1e4).verdict == "fail"


def test_diffuser_without_loss_or_with_a_laminar_jets_fails():
    """A cone of 7 degrees: four of six handbooks have 0.075 to 0.095, a jet loses 0.66 or more."""
    length = 0.5 / np.tan(np.radians(3.5))
    assert recovery_check(0.09, length).verdict == "pass"
    for loss in (0.0, 0.2, 0.66):
        assert recovery_check(loss, length).verdict == "fail"


def made_segment(taps, shift, uncertain=0.0):
    """A nozzle's segment with the measured mean and a shift, on two meshes."""
    first, last = (EDGE + place / DIAMETER_MM for place in taps)
    drop = MEASURED[taps][0] + shift
    walls = [
        WallPressure(np.array([first, last]), np.array([found, 0.0]))
        for found in (drop + uncertain, drop)
    ]
    return segment(taps, walls, walls)


@pytest.mark.parametrize("taps", MEASURED)
def test_every_segment_of_the_nozzle_has_a_verdict_that_can_be_either(taps):
    """Twice the laboratories' whole range off fails, however unsure the figure is."""
    _, least, greatest = MEASURED[taps]
    assert segment_row(made_segment(taps, 0.0))["verdict"] == "pass"
    for uncertain in (0.0, 1.0):
        found = made_segment(taps, 2 * (greatest - least), uncertain)
        assert segment_row(found)["verdict"] == "fail"
        assert found["laminar_verdict"] == found["turbulent_verdict"] == "fail"


def test_a_laminar_solutions_verdict_is_its_own():
    taps = (-32.0, 10.0)
    first, last = (EDGE + place / DIAMETER_MM for place in taps)
    lines = [
        [WallPressure(np.array([first, last]), np.array([drop, 0.0]))] * 2
        for drop in (1.9, MEASURED[taps][0])
    ]
    found = segment(taps, *lines)
    assert (found["laminar_verdict"], found["turbulent_verdict"]) == ("fail", "pass")


def test_rounded_entry_leaves_the_face_and_meets_the_tube_without_an_edge():
    """Two right angles and a smooth arc: the turns are the reservoir's inner corner alone."""
    turns = entry_bore(0.1).turns
    assert min(turns) == pytest.approx(-np.pi / 2)
    assert np.abs(np.delete(turns, np.argmin(turns))).max() < 1e-6


def test_nozzle_has_the_published_dimensions():
    """Throat of 4 mm by 40 mm, a cone of 20 degrees to 12 mm over 22.685 mm."""
    bore = nozzle_bore()
    cone = next(piece for piece in bore.segments if piece.start[0] == EDGE + 10)
    along, across = cone.stop - cone.start
    assert DIAMETER_MM * along == pytest.approx(22.685)
    assert 2 * np.degrees(np.arctan2(across, along)) == pytest.approx(20, abs=0.01)
    assert bore.throat_start == pytest.approx(EDGE)


def test_segment_is_the_pressure_difference_between_its_two_taps():
    position = np.array([0.0, EDGE, 60.0])
    walls = [WallPressure(position, slope * position) for slope in (-0.09, -0.1)]
    found = segment((10.0, 40.0), walls, walls)
    assert found["turbulent_q"] == pytest.approx(0.1 * 30 / DIAMETER_MM)
    assert found["turbulent_deviation_q"] == pytest.approx(0.75 - found["measured_q"])
    assert found["turbulent_q_uncertainty"] > 0.075


def test_friction_figure_prints_each_deviation(tmp_path):
    """Prandtl and von Kármán give 0.03089 at 1e4 (Schlichting's table: 0.0309)."""
    pipe = {"friction": [{"reynolds": 1e4, "friction": 0.0309 * 1.02, "uncertainty": 1e-4}]}
    record = draw_friction(pipe, tmp_path)
    assert "+2.0 %" in record.svg_path.read_text(encoding="utf-8")


def test_nozzle_figure_names_both_solutions_and_every_segment(tmp_path):
    position = np.array([0.0, EDGE, 60.0])
    walls = [WallPressure(position, slope * position) for slope in (-0.09, -0.1)]
    segments = [segment(taps, walls, walls) for taps in ((-32.0, 10.0), (40.0, 90.0))]
    line = {"z_mm": [-32.0, 90.0], "pressure_q": [0.0, -1.4]}
    nozzle = {"segments": segments, "lines": {"laminar": line, "turbulent": line}}
    text = draw_nozzle_segments(nozzle, tmp_path).svg_path.read_text(encoding="utf-8")
    for words in ("laminar solution", "turbulent solution", "p(−32 mm) − p(10 mm)",
                  "p(40 mm) − p(90 mm)"):  # fmt: skip
        assert words in text
