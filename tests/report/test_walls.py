"""The figure of the wall: what is drawn of it, and that a reader can read its scale."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from borestudy.flow.result import Separation, WallLine
from borestudy.quantity import Quantity
from borestudy.report.figures.along import draw_wall
from borestudy.report.figures.case import PicturedStudy

from .conftest import SOFT, at_rate, with_solutions
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
    cases = [with_solutions(case, laminar=lines) for case in study.cases]
    record = draw_wall(at_rate(replace(study, cases=cases), SOFT), tmp_path)
    text = record.svg_path.read_text(encoding="utf-8")
    assert "mathdefault" not in text
    assert "off the" in text
    assert "Laminar solution; regime at this rate: laminar" in record.caption


def test_each_solution_with_lines_has_its_own_column_on_the_same_scales(
    study: PicturedStudy, tmp_path: Path
) -> None:
    closed = replace(WALL, pressure_Pa=(20.0, -9.0, 0.0))
    cases = [
        with_solutions(case, laminar={"wall": WALL}, turbulent={"wall": closed})
        for case in study.cases
    ]
    drawing = caught(lambda: draw_wall(replace(study, cases=cases), tmp_path))
    titles = [axes.get_title(loc="left") for axes in drawing.axes]
    assert titles == ["laminar solution", "turbulent solution", "", ""]
    laminar, turbulent = drawing.axes[:2]
    assert laminar.get_ylim() == turbulent.get_ylim()
    np.testing.assert_allclose(laminar.lines[0].get_ydata(), WALL.pressure_Pa)
    np.testing.assert_allclose(turbulent.lines[0].get_ydata(), closed.pressure_Pa)
