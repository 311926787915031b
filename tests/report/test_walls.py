"""The figure of the wall: what is drawn of it, and that a reader can read its scale."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from borestudy.flow.result import Separation, WallLine
from borestudy.quantity import Quantity
from borestudy.report.figures.along import draw_wall
from borestudy.report.figures.case import PicturedStudy

from .conftest import LOUD, SOFT, at_rate, with_lines
from .test_layout import caught

WALL = WallLine(
    position_mm=(4.0, 5.0, 6.0),
    pressure_Pa=(10.0, -5.0, 0.0),
    shear_position_mm=(4.0, 5.5, 7.0),
    shear_Pa=(0.2, -0.1, 3.0),
)
BUBBLE = Separation(separation=Quantity(5.2, None, "mm"), reattachment=Quantity(6.1, None, "mm"))


def test_wall_shear_has_a_scale_in_plain_numbers(study: PicturedStudy, tmp_path: Path) -> None:
    lines = {"wall": WALL, "separations": (BUBBLE,)}
    cases = [with_lines(case, **lines) for case in study.cases]
    record = draw_wall(at_rate(replace(study, cases=cases), SOFT), tmp_path)
    text = record.svg_path.read_text(encoding="utf-8")
    assert "mathdefault" not in text
    assert "off the" in text
    assert "The flow shown here is laminar." in record.caption


def test_a_line_is_marked_where_the_flow_turns_turbulent(
    study: PicturedStudy, tmp_path: Path
) -> None:
    cases = [with_lines(case, wall=WALL, transition_position_mm=5.5) for case in study.cases]
    drawing = caught(lambda: draw_wall(at_rate(replace(study, cases=cases), LOUD), tmp_path))
    pressure, shear = drawing.axes
    lines, marks = pressure.lines[::2], pressure.lines[1::2]
    for line in lines:
        np.testing.assert_allclose(line.get_ydata(), WALL.pressure_Pa)
    for line, mark in zip(lines, marks, strict=True):
        # half a millimetre behind the throat's start, half-way between two points of the line
        assert mark.get_xdata() == [0.5]
        assert mark.get_ydata() == [-2.5]
        assert mark.get_color() == line.get_color()
    assert not any(line.get_marker() == "D" for line in shear.lines)
