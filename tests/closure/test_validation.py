"""What the validation says of its numbers, and what its figures show."""

import numpy as np
import pytest

from borestudy.compare.validate_closure.entry import entry_bore, falling
from borestudy.compare.validate_closure.nozzle import DIAMETER_MM, EDGE, nozzle_bore, segment
from borestudy.compare.validate_closure.pipe import log_law
from borestudy.compare.validate_closure.walls import WallPressure
from borestudy.present.closure import draw_friction, draw_nozzle_segments


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
