"""How sure the best estimate is: its section, its tables and its figure."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.figures.comparison_errors import draw_measurements
from borestudy.report.page import MadeFrom, ResultTables, StudyReport, write_report
from borestudy.report.tables.comparison_errors import (
    printed_comparison_errors,
    printed_every_comparison,
)
from borestudy.report.tables.layout import Table
from borestudy.results.comparison_errors import (
    ComparisonError,
    comparison_table,
    shipped_comparisons,
)
from borestudy.results.error_parts import stated_error
from borestudy.results.error_sizes import shipped_sizes

from .test_layout import SLACK, extents, kept_by, overlapping


def comparison(part: str, flow: str, reynolds: float, error: float, kind: str) -> ComparisonError:
    """A comparison with a drop of 1 q, known within 0.05 q, of which the mesh has 0.03 q."""
    return ComparisonError(
        part=part, flow=flow, kind=kind, throat_reynolds=reynolds, sharpness=1.0,
        throat_length_D=2.0, cone_angle_deg=180.0, area_ratio=16.0, estimate=1.0 + error,
        estimate_uncertainty=0.03, measured=1.0, measured_uncertainty=0.04, unit="q",
        turbulent_share=1.0, source="invented",
    )  # fmt: skip


#: Two parts, of which one is compared with a simulation.
ROWS = (
    comparison("entry", "long orifice, L/D 2", 500, 0.02, "measurement"),
    comparison("entry", "long orifice, L/D 4", 500, -0.08, "measurement"),
    comparison("entry", "long orifice, L/D 2", 7000, 0.04, "measurement"),
    comparison("whole", "bore of some class", 2000, -0.06, "simulation"),
)


@pytest.fixture
def rows() -> pd.DataFrame:
    """The same as a table."""
    return comparison_table(ROWS)


def texts(table: Table) -> list[list[str]]:
    return [[cell.text for cell in row] for row in table.rows]


def test_each_part_has_its_comparisons_and_how_many_agree(rows: pd.DataFrame) -> None:
    assert texts(printed_comparison_errors(rows)) == [
        ["entry", "measurement", "500 to 7000", "3", "2", "−0.08 to 0.04"],
        ["whole", "simulation", "2000", "1", "0", "−0.06"],
    ]


def test_every_comparison_stands_with_its_three_uncertainties(rows: pd.DataFrame) -> None:
    assert texts(printed_every_comparison(rows))[0][-3:] == [
        "1.02 ± 0.03",
        "1.00 ± 0.04",
        "0.02 ± 0.05",
    ]


def test_the_figure_has_every_comparison_on_what_is_stated_for_it(
    tmp_path: Path, drawn: list[Figure]
) -> None:
    draw_measurements(ROWS, tmp_path)
    panels = {axes.get_title(loc="left"): axes for axes in drawn[0].axes}
    for part in ("entry", "whole"):
        mine = [row for row in ROWS if row.part == part]
        marks = [one for one in panels[part].containers if len(one.lines[0].get_ydata())]
        np.testing.assert_allclose(
            [one.lines[0].get_ydata()[0] for one in marks], [row.error for row in mine]
        )
        bars = [np.ptp(one.lines[2][0].get_segments()[0][:, 1]) / 2 for one in marks]
        np.testing.assert_allclose(bars, 0.05)
        pale = [line.get_ydata() for line in panels[part].lines if line.get_linewidth() == 5.5]
        sides = [stated_error(row, shipped_sizes()) for row in mine]
        expected = [(-side.high, side.low) for side in sides]
        np.testing.assert_allclose([ends for ends in pale if len(ends)], expected)


@pytest.mark.usefixtures("look")
def test_the_shipped_comparisons_make_a_figure_in_which_no_texts_meet(tmp_path: Path) -> None:
    (drawing,) = kept_by(lambda: draw_measurements(shipped_comparisons(), tmp_path)).values()
    assert overlapping(drawing) == []
    for text, box in extents(drawing):
        frame = drawing.bbox.padded(SLACK)
        inside = frame.contains(*box.min) and frame.contains(*box.max)
        assert inside, text.get_text()
    assert draw_measurements((), tmp_path) is None


def report(study: PicturedStudy, folder: Path, figures: Sequence[Any], **tables: Any) -> str:
    """A report with some tables and figures."""
    path = folder / "report.html"
    found = ResultTables(comparison=study.comparison, flow=study.flow, **tables)
    write_report(
        path,
        StudyReport(
            title="a",
            question="b?",
            answers=["c"],
            tables=found,
            figures=figures,
            provenance=MadeFrom(),
        ),
    )
    return path.read_text(encoding="utf-8")


def test_the_section_has_the_figure_once_and_figures_are_numbered_through(
    study: PicturedStudy, rows: pd.DataFrame, tmp_path: Path
) -> None:
    figures = [*draw_all(tmp_path, study)[:3], draw_measurements(ROWS, tmp_path)]
    text = report(study, tmp_path, figures, comparison_errors=rows)
    section = text[text.index('<h3 id="measurements">') : text.index('<h3 id="uncertainty">')]
    assert text.count('id="figure-comparison-errors"') == 1
    assert 'id="figure-comparison-errors"' in section
    assert re.findall(r"Figure (\d+)\.", text) == ["1", "2", "3"]
    assert "ASME V&amp;V 20-2009" in section
    assert "Looked for in vain" in section
    assert "<summary>Every comparison</summary>" in section


def test_without_comparisons_there_is_no_section_and_no_way_to_it(
    study: PicturedStudy, tmp_path: Path
) -> None:
    assert "#measurements" not in (text := report(study, tmp_path, []))
    assert 'id="measurements"' not in text


def test_extremes_have_a_section_only_where_the_study_asked_for_them(
    study: PicturedStudy, tmp_path: Path
) -> None:
    assert "Laminar and fully turbulent solutions" in report(study, tmp_path, [])
    kept = [name for name in study.flow if not str(name).startswith(("laminar_", "turbulent_"))]
    text = report(replace(study, flow=study.flow[kept]), tmp_path, [])
    assert "Laminar and fully turbulent solutions" not in text
    assert "Wholly" not in text
