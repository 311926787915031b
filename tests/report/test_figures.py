"""What the figures show, and that their files can be trusted to be the same tomorrow."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.acoustics.result import Resonance
from borestudy.drawing import style
from borestudy.report.figures import (
    along,
    bores,
    impedance,
    positions,
    pressure,
    throat_entries,
    trends,
)
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all

from .conftest import SOFT, at_rate, make_study, with_acoustics


def write(study: PicturedStudy, directory: Path) -> list[style.FigureRecord]:
    return draw_all(directory, study)


def test_figures_are_the_same_bytes_on_every_run(study: PicturedStudy, tmp_path: Path) -> None:
    first, second = write(study, tmp_path / "first"), write(study, tmp_path / "second")
    assert len(first) == 11
    for one, other in zip(first, second, strict=True):
        assert one.svg_path.read_bytes() == other.svg_path.read_bytes(), one.name
        assert one.png_path.read_bytes() == other.png_path.read_bytes(), one.name


def test_every_figure_is_170_mm_wide_with_letters_of_8_pt_or_more(
    study: PicturedStudy, tmp_path: Path
) -> None:
    for record in write(study, tmp_path):
        text = record.svg_path.read_text()
        width = re.search(r'<svg[^>]* width="([\d.]+)pt"', text)
        assert width is not None
        assert float(width.group(1)) == pytest.approx(170 / 25.4 * 72, rel=1e-3)
        sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)px", text)]
        assert sizes, record.name
        assert min(sizes) >= 8, record.name
        assert "dc:date" not in text


def bars(axes: Any) -> np.ndarray:
    """Ends of the first set of error bars, shape (n, 2)."""
    segments = axes.containers[0].lines[2][0].get_segments()
    return np.array([segment[:, 1] for segment in segments])


def test_resonance_error_bars_are_the_uncertainty_columns(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    trends.draw_resonance(study, tmp_path)
    columns = ("resonance_change_cents", "resonance_Q_change_percent")
    columns += ("impedance_peak_change_percent",)
    for axes, column in zip(drawn[0].axes, columns, strict=True):
        value = study.comparison[column]
        error = study.comparison[column + "_uncertainty"]
        np.testing.assert_allclose(bars(axes), np.column_stack([value - error, value + error]))


def test_resistance_error_bars_are_the_pressure_drops_uncertainty(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    trends.draw_resistance(study, tmp_path)
    rows = study.flow[study.flow["flow_rate_L_per_s"] == 0.05]
    value = rows["pressure_drop_Pa"] / 1e3 / 0.05
    error = rows["pressure_drop_Pa_uncertainty"] / 1e3 / 0.05
    np.testing.assert_allclose(
        bars(drawn[0].axes[0]), np.column_stack([value - error, value + error])
    )


def test_a_rate_that_did_not_converge_is_a_word_and_not_a_point(
    drawn: list[Figure], tmp_path: Path
) -> None:
    study = make_study(tmp_path, unsolved=1)
    # A number left in a failed row must not be drawn either.
    failed = ~study.flow["converged"]
    study.flow.loc[failed, "pressure_drop_Pa"] = 99.0
    trends.draw_resistance(study, tmp_path)
    record = pressure.draw_pressure_drop(study, tmp_path)
    words = [text.get_text() for axes in drawn[0].axes for text in axes.texts]
    assert words.count("did not converge") == 1
    assert record.svg_path.read_text().count("did not converge") >= 1
    for axes in drawn[0].axes + drawn[1].axes:
        for line in axes.lines:
            heights = np.asarray(line.get_ydata(), float)
            assert not np.isclose(heights, 99.0 / 1e3 / 0.2).any()
            assert not np.isclose(heights, 99.0 / 1e3).any()


def test_all_throat_entries_share_one_colour_scale(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    throat_entries.draw_throat_entries(study, tmp_path)
    limits = {image.get_clim() for axes in drawn[0].axes for image in axes.images}
    spans = {axes.get_xlim() + axes.get_ylim() for axes in drawn[0].axes if axes.images}
    assert len(limits) == 1
    assert len(spans) == 1


def test_a_bubble_is_outlined_only_where_air_runs_backwards(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    throat_entries.draw_throat_entries(study, tmp_path)
    attached, separated = (axes for axes in drawn[0].axes if axes.images)
    assert len(separated.collections) == len(attached.collections) + 2  # above and below the axis


def test_a_case_without_a_field_is_a_panel_that_says_so(
    drawn: list[Figure], tmp_path: Path
) -> None:
    study = make_study(tmp_path, unsolved=1)
    throat_entries.draw_throat_entries(study, tmp_path)
    words = [text.get_text() for axes in drawn[0].axes for text in axes.texts]
    assert words == ["did not converge"]


def test_a_big_sweep_gets_a_colour_bar_and_a_dozen_pictures(
    drawn: list[Figure], tmp_path: Path
) -> None:
    study = make_study(tmp_path, tuple(f"rounded {n} mm" for n in range(30)))
    throat_entries.draw_throat_entries(study, tmp_path)
    assert sum(bool(axes.images) for axes in drawn[0].axes) == 12
    along.draw_axis_pressure(study, tmp_path)
    assert not drawn[1].legends
    assert len(drawn[1].axes) == 3  # the pressures, how far they are from the first's, the bar
    titles = [axes.get_title(loc="left") for axes in drawn[0].axes if axes.images]
    assert (titles[0], titles[-1]) == ("rounded 0 mm", "rounded 29 mm")


def test_few_cases_differ_by_colour_dash_and_mark() -> None:
    styles = [style.line_style(index, 8) for index in range(8)]
    for name in ("color", "linestyle", "marker"):
        assert len({str(line[name]) for line in styles}) == 8


def test_words_stand_in_the_studys_order_and_numbers_at_their_value() -> None:
    table = pd.DataFrame({"case": ["a", "b", "c"], "shape": ["z", "y", "x"], "size_mm": [3, 1, 2]})
    words = positions.positions(table, ["shape"])
    assert words.tick_labels == ["z", "y", "x"]
    numbers = positions.positions(table, ["size_mm"])
    np.testing.assert_array_equal(numbers.x, [3, 1, 2])
    assert numbers.axis_label == "Size, mm"


def test_a_second_dimension_tells_the_lines_apart() -> None:
    table = pd.DataFrame(
        {"case": list("abcd"), "depth_mm": [1.0, 1, 2, 2], "shape": ["bowl", "cone"] * 2}
    )
    place = positions.positions(table, ["shape", "depth_mm"])
    assert [list(rows) for _, rows in place.groups] == [[0, 2], [1, 3]]
    np.testing.assert_array_equal(place.x, table["depth_mm"])


def test_a_side_shared_by_two_triangles_is_drawn_once(study: PicturedStudy) -> None:
    assert study.cases[0].mesh_path is not None
    edges, count = bores.read_edges(study.cases[0].mesh_path)
    assert count == 2
    assert edges.shape == (5, 2, 2)
    assert edges.max() == pytest.approx(20.0)  # millimetres


def test_the_pressure_drop_is_shaded_from_where_the_flow_turns_turbulent_on(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    pressure.draw_pressure_drop(study, tmp_path)
    for axes in drawn[0].axes[:2]:
        (shade,) = axes.patches
        assert shade.get_x() == pytest.approx((0.05 + 0.2) / 2)
    quiet = study.flow.assign(transition_position_mm=np.nan)
    record = pressure.draw_pressure_drop(replace(study, flow=quiet), tmp_path)
    assert not any(axes.patches for axes in drawn[1].axes)
    assert "turns turbulent" not in record.caption


def test_a_resonance_that_was_not_found_is_left_out(study: PicturedStudy, tmp_path: Path) -> None:
    case = with_acoustics(study.cases[0], resonances=(Resonance(),))
    assert impedance.found_peaks(case) == []
    record = impedance.draw_impedance(replace(study, cases=[case]), tmp_path)
    assert "resonances lie between" not in record.caption


def test_a_dollar_sign_in_a_label_is_no_formula(tmp_path: Path) -> None:
    study = make_study(tmp_path, ("costs $5 or $6", "a_b^{"), fields=False)
    for record in write(study, tmp_path):
        assert record.svg_path.is_file()


def test_the_change_has_one_line_a_rate_with_its_one_uncertainty(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    trends.draw_resistance_change(study, tmp_path)
    (axes,) = drawn[0].axes
    soft, loud = (container.lines[0] for container in axes.containers)
    np.testing.assert_allclose(soft.get_ydata(), [0, -5])
    np.testing.assert_allclose(loud.get_ydata(), [0, -8])
    for container, value in zip(axes.containers, (-5.0, -8.0), strict=True):
        ends = [segment[:, 1] for segment in container.lines[2][0].get_segments()]
        np.testing.assert_allclose(ends, [[0, 0], [value - 0.5, value + 0.5]])
    assert not np.array_equal(soft.get_color(), loud.get_color())
    words = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert words == ["0.05 L/s", "0.2 L/s"]


def test_the_estimate_has_a_band_of_both_errors_and_the_extremes_are_thin_lines(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    pressure.draw_pressure_drop(study, tmp_path)
    words = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert {"numerical and model error", "wholly laminar", "wholly turbulent"} <= set(words)
    for axes, case in zip(drawn[0].axes, study.cases, strict=False):
        rows = study.flow[study.flow["case"] == case.name]
        (band,) = axes.collections[:1]
        corners = band.get_paths()[0].vertices
        for end in ("low", "high"):
            expected = 1e-3 * rows[f"pressure_drop_{end}_Pa"]
            found = corners[np.isclose(corners[:, 0], 0.2), 1]
            assert np.isclose(found, expected.iloc[-1]).any()
        thin = [line for line in axes.lines if line.get_linewidth() < 0.9]
        np.testing.assert_allclose(thin[0].get_ydata(), 1e-3 * rows["laminar_pressure_drop_Pa"])


def test_a_study_without_extremes_has_no_line_and_no_key_for_them(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    asked = [name for name in study.flow if str(name).startswith(("laminar_", "turbulent_"))]
    record = pressure.draw_pressure_drop(
        replace(study, flow=study.flow.drop(columns=asked)), tmp_path
    )
    words = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert not any("wholly" in text for text in words)
    assert "ideal" not in record.caption


def test_an_impedance_scale_between_decades_has_numbers_and_no_mathematics(
    study: PicturedStudy, tmp_path: Path
) -> None:
    record = impedance.draw_impedance(study, tmp_path)
    assert "mathdefault" not in record.svg_path.read_text()
    assert impedance.between_decades(20.0) == "20"
    assert impedance.between_decades(3.0) == ""


def test_the_pressure_on_the_axis_is_in_pascals_where_kilopascals_would_be_thousandths(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    along.draw_axis_pressure(at_rate(study, SOFT), tmp_path)
    assert drawn[0].axes[0].get_ylabel() == "pressure on the axis, Pa"
    assert max(drawn[0].axes[0].lines[0].get_ydata()) == pytest.approx(50.0)


def test_impedances_are_also_drawn_as_changes_against_the_first(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    impedance.draw_impedance(study, tmp_path)
    below = next(axes for axes in drawn[0].axes if axes.get_ylabel() == "against the first, %")
    first, second = (np.asarray(line.get_ydata(), float) for line in below.lines)
    sizes = {}
    for name, rows in study.impedance.groupby("case"):
        real, imag = rows["impedance_real_Pa_s_per_m3"], rows["impedance_imag_Pa_s_per_m3"]
        sizes[name] = np.hypot(real, imag).to_numpy()
    base, other = (sizes[case.name] for case in study.cases)
    np.testing.assert_allclose(first, 0, atol=1e-12)
    np.testing.assert_allclose(second, 100 * (other / base - 1), atol=1e-9)


def test_the_phase_of_a_single_bore_is_drawn(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    impedance.draw_impedance(replace(study, cases=study.cases[:1]), tmp_path)
    assert [axes.get_ylabel() for axes in drawn[0].axes].count("phase, °") == 1


def test_pressures_are_compared_at_the_same_distance_from_the_throats_end(
    study: PicturedStudy,
) -> None:
    first = study.cases[0]
    longer = replace(
        first,
        outline=replace(
            first.outline,
            position_mm=first.outline.position_mm + 3,
            parts={"cup": (0, 8), "throat": (8, 12), "backbore": (12, 23)},
        ),
    )
    position = np.linspace(0, 20, 41)
    pressure = 50 - position**2
    curves = {0: (position, pressure), 1: (position + 3, pressure + 4)}
    found = along.differences(curves, [first, longer])
    assert list(found) == [1]
    np.testing.assert_allclose(found[1][1], 4.0)


def test_bores_whose_pressure_drops_lie_in_the_firsts_band_are_drawn_once(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    pressure.draw_pressure_drop(study, tmp_path)
    same = study.flow.copy()
    drop = same.groupby("flow_rate_L_per_s")["pressure_drop_Pa"].transform("first")
    same["pressure_drop_Pa"] = drop * [1.0, 1.0, 1.04, 0.96]  # two rates of two bores
    record = pressure.draw_pressure_drop(replace(study, flow=same), tmp_path)
    assert [sum(axes.get_visible() for axes in one.axes) for one in drawn] == [2, 1]
    assert "within this band" in record.caption
