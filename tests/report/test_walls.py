"""The figure of the wall: what is drawn of it, and that a reader can read its scale."""

from dataclasses import replace
from pathlib import Path

from borestudy.report.figures.collection import PicturedStudy
from borestudy.report.figures.walls import draw_wall


def test_wall_shear_has_a_scale_in_plain_numbers(study: PicturedStudy, tmp_path: Path) -> None:
    wall = {
        "position_mm": [4.0, 5.0, 6.0],
        "pressure_Pa": [10.0, -5.0, 0.0],
        "shear_position_mm": [4.0, 5.5, 7.0],
        "shear_Pa": [0.2, -0.1, 3.0],
    }
    bubble = {"separation_mm": 5.2, "reattachment_mm": 6.1}
    cases = []
    for case in study.cases:
        rates = [row | {"wall": wall, "separations": [bubble]} for row in case.flow["rates"]]
        cases.append(replace(case, flow={"rates": rates}))
    record = draw_wall(cases, 0.05, tmp_path)
    text = record.svg_path.read_text(encoding="utf-8")
    assert "mathdefault" not in text
    assert "off the" in text
    assert "laminar" in record.caption
