"""The CSV file beside a figure holds what is drawn on it."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.drawing import style
from borestudy.drawing.looks import Look, using
from borestudy.report.figures import (
    along,
    bores,
    headline,
    impedance,
    mouthpiece,
    pressure,
    trends,
)
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.topic import FLOW

from .conftest import curves, with_acoustics
from .test_layout import whole


def table_of(record: style.FigureRecord | None) -> pd.DataFrame:
    assert record is not None
    assert record.csv_path is not None
    assert record.csv_path == record.svg_path.with_suffix(".csv")
    return pd.read_csv(record.csv_path)


def of_case(table: pd.DataFrame, label: str, *columns: str) -> list[np.ndarray]:
    rows = table[table["case"] == label]
    return [rows[name].to_numpy(float) for name in columns]


def points_of(line: Any) -> list[np.ndarray]:
    return [np.asarray(part, float) for part in line.get_data()]


def ends_of(container: Any) -> np.ndarray:
    """Lower and upper ends of error bars."""
    return np.array([segment[:, 1] for segment in container.lines[2][0].get_segments()]).T


def test_every_figure_has_a_table_with_one_header_row(study: PicturedStudy, tmp_path: Path) -> None:
    records = draw_all(tmp_path, whole(study))
    assert len(records) > 10
    for record in records:
        table = table_of(record)
        assert len(table) > 0, record.name
        assert all(not str(name).startswith("Unnamed") for name in table), record.name
        assert table.columns.is_unique


def test_bars_of_the_answer_are_in_its_table(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = table_of(headline.draw_headline(study, tmp_path, FLOW))
    column = "flow_resistance_change_percent"
    axes = drawn[0].axes[0]
    bars = [one for one in axes.containers if hasattr(one, "patches")]
    for bar, (_, rows) in zip(bars, table.groupby("flow_rate_L_per_s"), strict=True):
        np.testing.assert_allclose([one.get_width() for one in bar], rows[column])
    assert list(table[f"{column}_uncertainty"]) == [0.0, 0.5, 0.0, 0.5]


def test_lines_and_bars_of_the_trends_are_in_their_tables(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = table_of(trends.draw_resonance(study, tmp_path))
    names = ["resonance_change_cents", "resonance_Q_change_percent"]
    names += ["impedance_peak_change_percent"]
    for axes, name in zip(drawn[0].axes, names, strict=True):
        (container,) = axes.containers
        value, error = table[name], table[f"{name}_uncertainty"]
        np.testing.assert_allclose(container.lines[0].get_ydata(), value)
        np.testing.assert_allclose(ends_of(container), [value - error, value + error])
    table = table_of(trends.draw_resistance_change(study, tmp_path))
    name = "flow_resistance_change_percent"
    groups = table.groupby("flow_rate_L_per_s")
    for container, (_, rows) in zip(drawn[1].axes[0].containers, groups, strict=True):
        value, error = rows[name], rows[f"{name}_uncertainty"]
        np.testing.assert_allclose(container.lines[0].get_ydata(), value)
        np.testing.assert_allclose(ends_of(container), [value - error, value + error])
    table = table_of(trends.draw_resistance(study, tmp_path))
    name = "flow_resistance_kPa_s_per_L"
    groups = table.groupby("flow_rate_L_per_s")
    for container, (_, rows) in zip(drawn[2].axes[0].containers, groups, strict=True):
        value, error = rows[name], rows[f"{name}_uncertainty"]
        np.testing.assert_allclose(container.lines[0].get_ydata(), value)
        np.testing.assert_allclose(ends_of(container), [value - error, value + error])


def test_curves_and_their_differences_are_in_their_tables(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = table_of(impedance.draw_impedance(study, tmp_path))
    panels = {axes.get_ylabel(): axes for axes in drawn[0].axes if axes.get_ylabel()}
    whole_range, below = panels["impedance, MPa·s/m³"], panels["against the first, %"]
    drawn_lines = [line for line in whole_range.lines if len(line.get_xdata()) > 1]
    for line, change, case in zip(drawn_lines, below.lines, study.cases, strict=True):
        frequency, size, against = of_case(
            table, case.label, "frequency_Hz", "impedance_MPa_s_per_m3", "impedance_change_percent"
        )
        np.testing.assert_allclose(points_of(line), [frequency, size])
        np.testing.assert_allclose(points_of(change), [frequency, against], atol=1e-9)
    table = table_of(along.draw_axis_pressure(study, tmp_path))
    lines = [line for line in drawn[1].axes[0].lines if len(line.get_xdata()) == 3]
    for line, case in zip(lines, study.cases, strict=True):
        position, value = of_case(table, case.label, "position_mm", "pressure_Pa")
        np.testing.assert_allclose(points_of(line), [position, value])
    (apart,) = of_case(table, study.cases[1].label, "pressure_less_first_Pa")
    np.testing.assert_allclose(drawn[1].axes[1].lines[0].get_ydata(), apart)


def test_the_mouthpieces_curves_are_in_their_table(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    cases = [with_acoustics(case, curves=curves(3.0 * at)) for at, case in enumerate(study.cases)]
    table = table_of(mouthpiece.draw_mouthpiece(replace(study, cases=cases), tmp_path))
    length, *_, less = drawn[0].axes[:4]
    first, second = (case.label for case in cases)
    shown = of_case(table, first, "frequency_Hz", "equivalent_length_mm")
    np.testing.assert_allclose(points_of(length.lines[0]), shown)
    shown = of_case(table, second, "frequency_Hz", "equivalent_length_less_first_mm")
    np.testing.assert_allclose(points_of(less.lines[1]), shown)


def test_pressure_drops_walls_and_sections_are_in_their_tables(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = table_of(pressure.draw_pressure_drop(study, tmp_path))
    for axes, case in zip(drawn[0].axes, study.cases, strict=False):
        rate, drop, error = of_case(
            table, case.label, "flow_rate_L_per_s", "pressure_drop_kPa",
            "pressure_drop_kPa_uncertainty",
        )  # fmt: skip
        (container,) = axes.containers
        np.testing.assert_allclose(points_of(container.lines[0]), [rate, drop])
        np.testing.assert_allclose(ends_of(container), [drop - error, drop + error])
    table = table_of(bores.draw_bores(study, tmp_path))
    for line, case in zip(drawn[1].axes[0].lines[::2], study.cases, strict=False):
        shown = of_case(table, case.label, "position_mm", "radius_mm")
        np.testing.assert_allclose(points_of(line), shown)


def test_words_beyond_ascii_are_read_by_spreadsheets_and_back(tmp_path: Path) -> None:
    table = pd.DataFrame({"case": ["gerundet ½ mm", "square"], "value_mm": [0.5, 0.0]})
    with using(Look(formats=("svg",))):
        words = {"title": "", "caption": "", "alt": "", "data": table}
        record = style.styled(lambda: style.save(style.figure(30), tmp_path, "a", **words))()
    assert record.csv_path is not None
    assert record.csv_path.read_bytes().startswith(b"\xef\xbb\xbf")
    pd.testing.assert_frame_equal(pd.read_csv(record.csv_path), table)
    assert not record.png_path.exists()


@pytest.mark.parametrize("look", [Look(84.0, 9.0, "serif", ("svg",))])
def test_a_figure_has_the_width_and_the_letters_that_are_asked_for(
    study: PicturedStudy, tmp_path: Path, look: Look
) -> None:
    with using(look):
        record = trends.draw_resonance(study, tmp_path)
    assert record is not None
    text = record.svg_path.read_text()
    width = float(text.split(' width="', 1)[1].split("pt", 1)[0])
    assert width == pytest.approx(84 / 25.4 * 72, rel=1e-3)
    assert "DejaVu Serif" in text
    assert "DejaVu Sans'" not in text
    assert "9px" in text
