"""What a study took, drawn: sums of its cases' times, and solves on meshes of their sizes."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.report.figures.costs import MARKS, draw_costs
from borestudy.report.page import ResultTables, StudyReport, write_report

from .test_layout import SLACK, extents, kept_by, overlapping

SECONDS = {"one": 20.0, "two": 22.0, "three": 30.0}


def solves(cases: int, levels: int = 2) -> pd.DataFrame:
    """Solves that take as many seconds as the mesh has thousands of unknowns."""
    rows = [
        (f"{case}", "estimate", level, 1000 * (2 + 2 * level) + case, 2.0 + 2 * level + case / 1000)
        for case in range(cases)
        for level in range(levels)
    ]
    return pd.DataFrame(rows, columns=["case", "model", "mesh_level", "unknowns", "solve_time_s"])


def test_the_time_so_far_is_drawn_after_each_case_and_on_all_that_is_done_once(
    tmp_path: Path, drawn: list[Figure]
) -> None:
    record = draw_costs(SECONDS, 40.0, solves(3), tmp_path)
    left, right = drawn[0].axes
    straight, marks = left.lines
    np.testing.assert_allclose(marks.get_xydata(), [[0, 40], [1, 60], [2, 82], [3, 112]])
    np.testing.assert_allclose(straight.get_xydata(), [[0, 40], [3, 112]])
    for level, line in enumerate(right.lines):
        of_level = solves(3)[solves(3)["mesh_level"] == level]
        np.testing.assert_allclose(line.get_xdata(), of_level["unknowns"] / 1000)
        np.testing.assert_allclose(line.get_ydata(), of_level["solve_time_s"])
    assert record is not None
    assert "24 s a case" in record.caption
    assert "on 40 s" in record.caption


@pytest.mark.parametrize(("seconds", "unit"), [(10.0, "s"), (100.0, "min"), (5000.0, "h")])
def test_long_times_are_in_minutes_and_hours(
    seconds: float, unit: str, tmp_path: Path, drawn: list[Figure]
) -> None:
    draw_costs({"one": seconds, "two": seconds}, 0.0, solves(2), tmp_path)
    left = drawn[0].axes[0]
    per = {"s": 1, "min": 60, "h": 3600}[unit]
    assert left.get_title(loc="left") == f"time of one core, {unit}"
    assert left.lines[1].get_ydata()[-1] == 2 * seconds / per


def test_thousands_of_cases_make_no_larger_a_figure_than_hundreds(tmp_path: Path) -> None:
    sizes = []
    for cases in (1000, 4000):
        record = draw_costs(
            {f"{case}": 5.0 for case in range(cases)}, 30.0, solves(cases), tmp_path
        )
        assert record is not None
        assert record.csv_path is not None
        assert len(pd.read_csv(record.csv_path)) == 3 * MARKS
        sizes.append(record.svg_path.stat().st_size)
    assert max(sizes) < 1.1 * min(sizes) < 200e3


@pytest.mark.usefixtures("look")
@pytest.mark.parametrize("cases", [1, 3, 1000])
def test_no_texts_of_the_figure_meet(cases: int, tmp_path: Path) -> None:
    seconds = {f"{case}": 5.0 + case % 3 for case in range(cases)}
    (drawing,) = kept_by(lambda: draw_costs(seconds, 40.0, solves(cases), tmp_path)).values()
    assert overlapping(drawing) == []
    for text, box in extents(drawing):
        frame = drawing.bbox.padded(SLACK)
        inside = frame.contains(*box.min) and frame.contains(*box.max)
        assert inside, text.get_text()


def test_without_any_solve_there_is_no_figure(tmp_path: Path) -> None:
    assert draw_costs({}, 40.0, solves(0), tmp_path) is None
    assert draw_costs(SECONDS, 40.0, solves(0), tmp_path) is None


def test_the_page_has_table_sentences_and_figure_together(tmp_path: Path) -> None:
    figure = draw_costs(SECONDS, 40.0, solves(3), tmp_path)
    assert figure is not None
    page = StudyReport(
        title="a",
        question="b?",
        answers=["c"],
        tables=ResultTables(
            comparison=pd.DataFrame(), flow=pd.DataFrame(),
            benchmarks=pd.DataFrame({"stage": ["mesh"], "wall_time_s": [3.0]}),
        ),
        figures=[replace(figure, name="pressure-drop"), figure],
        costs=["A case takes 24 s.", "It keeps 7 MB of fields."],
    )  # fmt: skip
    write_report(tmp_path / "report.html", page)
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    section = text[text.index('<h3 id="time">') : text.index("<h3>Provenance</h3>")]
    assert "A case takes 24 s. It keeps 7 MB of fields." in section
    assert 'id="figure-costs"' in section
    assert re.search(r"costs\.csv", section)
