"""The picture of the answer draws the columns of the tables, of what the study asks about."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from borestudy.drawing import headline as drawing_of
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.headline import (
    changes,
    draw_headline,
    headline_of,
    picture,
    window,
)
from borestudy.report.topic import FLOW, RESONANCE

from .conftest import RATES, make_study


def bars_of(axes: Any) -> list[np.ndarray]:
    """Lengths of the bars of each series."""
    bars = [one for one in axes.containers if hasattr(one, "patches")]
    return [np.array([bar.get_width() for bar in one]) for one in bars]


def errors_of(axes: Any) -> list[np.ndarray]:
    """Ends of the thin lines of each series, shape (n, 2)."""
    lines = [one for one in axes.containers if not hasattr(one, "patches")]
    ends = [
        np.array([segment[:, 0] for segment in one.lines[2][0].get_segments()]) for one in lines
    ]
    return ends[1::2]  # each on a white one


def words_of(axes: Any) -> list[str]:
    return [text.get_text() for text in axes.texts]


def with_peaks(study: PicturedStudy) -> PicturedStudy:
    """The study with an instrument of twelve peaks."""
    comparison = study.comparison.assign(termination="air column")
    index = np.arange(len(comparison))
    for peak in range(2, 13):
        comparison[f"peak_{peak}_change_cents"] = 1.0 * peak * index
        comparison[f"peak_{peak}_change_cents_uncertainty"] = 0.1 * peak * index
    return replace(study, comparison=comparison)


def test_a_bar_is_the_change_of_the_flow_resistance_with_its_uncertainty(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = draw_headline(study, tmp_path, FLOW)
    assert record is not None
    assert record.name == "headline"
    axes = drawn[0].axes[0]
    for bars, ends, value in zip(bars_of(axes), errors_of(axes), (-5.0, -8.0), strict=True):
        np.testing.assert_allclose(bars, [0, value])
        np.testing.assert_allclose(ends, [[value - 0.5, value + 0.5]])
    assert {"−5.0 ± 0.5 %", "−8.0 ± 0.5 %"} <= set(words_of(axes))
    legend = [text.get_text() for text in drawn[0].legends[0].get_texts()]
    assert legend == [f"at {rate:g} L/s" for rate in RATES]
    assert "rounded 1 mm −8.0 ± 0.5 %" in record.alt


def test_every_bore_has_a_section_of_its_own(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_headline(study, tmp_path, FLOW)
    sections = drawn[0].axes[1:]
    assert len(sections) == len(study.cases)
    for axes, case in zip(sections, study.cases, strict=True):
        np.testing.assert_array_equal(axes.lines[0].get_ydata(), case.outline.radius_mm)


def test_an_instrument_has_a_bar_for_each_register_the_mean_of_its_peaks(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_headline(with_peaks(study), tmp_path, RESONANCE)
    axes = drawn[0].axes[0]
    means = (3.0, 6.0, 10.0)  # of 2 to 4, 5 to 7, 8 to 12
    for bars, ends, mean in zip(bars_of(axes), errors_of(axes), means, strict=True):
        np.testing.assert_allclose(bars, [0, mean])
        np.testing.assert_allclose(ends, [[0.9 * mean, 1.1 * mean]])
    assert "+10.0 ± 1.0 cents" in words_of(axes)
    assert axes.get_xlabel() == "change of the pitch, cents"


def test_a_peak_that_one_bore_lacks_is_in_no_registers_mean(study: PicturedStudy) -> None:
    study = with_peaks(study)
    study.comparison.loc[1, "peak_4_change_cents"] = np.nan
    found = headline_of(study, RESONANCE)
    assert found is not None
    assert found.series[0].value[1] == pytest.approx(2.5)


def test_without_what_is_asked_about_the_other_is_shown(study: PicturedStudy) -> None:
    comparison = study.comparison.assign(
        resonance_change_cents=[0.0, 4.0], resonance_change_cents_uncertainty=[0.0, 0.1]
    )
    study = replace(study, comparison=comparison)
    units = {topic: headline_of(study, topic).unit for topic in (FLOW, RESONANCE)}  # type: ignore[union-attr]
    assert units == {FLOW: "%", RESONANCE: "cents"}
    silent = replace(study, comparison=comparison.drop(columns=["resonance_change_cents"]))
    assert headline_of(silent, RESONANCE).unit == "%"  # type: ignore[union-attr]
    still = replace(study, flow=study.flow.iloc[:0])
    assert headline_of(still, FLOW).unit == "cents"  # type: ignore[union-attr]
    neither = replace(silent, flow=study.flow.iloc[:0])
    assert headline_of(neither, FLOW) is None


def test_a_bore_without_a_result_says_so(drawn: list[Figure], tmp_path: Path) -> None:
    study = make_study(tmp_path, ("square", "rounded 1 mm", "rounded 2 mm"), unsolved=1)
    draw_headline(study, tmp_path, FLOW)
    assert words_of(drawn[0].axes[0]).count("no result") == 1


def test_many_bores_are_marks_along_what_is_varied(drawn: list[Figure], tmp_path: Path) -> None:
    words = tuple(f"rounded {n} mm" for n in range(12))
    study = make_study(tmp_path, words, fields=False)
    comparison = study.comparison.assign(size_mm=np.arange(12.0))
    draw_headline(replace(study, comparison=comparison, varied=["size_mm"]), tmp_path, FLOW)
    axes = drawn[0].axes[0]
    for container, step in zip(axes.containers, (-5.0, -8.0), strict=True):
        line = container.lines[0]
        np.testing.assert_allclose(line.get_xdata(), np.arange(12))
        np.testing.assert_allclose(line.get_ydata(), step * np.arange(12))
    assert len(drawn[0].axes) == 4  # the first, a middle and the last bore in section


def test_changes_of_solved_bores_are_drawn_without_a_study(
    study: PicturedStudy, tmp_path: Path
) -> None:
    outlines = [case.outline for case in study.cases]
    by_rate = {0.2: ([0.0, -8.0], [0.0, 0.5])}
    found = changes(["square", "rounded 1 mm"], outlines, by_rate)
    same = headline_of(study, FLOW)
    assert same is not None
    assert found.words == same.words
    np.testing.assert_allclose(found.series[0].value, same.series[1].value)
    for ending in ("svg", "pdf", "png"):
        picture(found, tmp_path / f"answer.{ending}")
        assert (tmp_path / f"answer.{ending}").stat().st_size > 1000


def test_what_is_drawn_small_is_what_is_varied(study: PicturedStudy) -> None:
    outlines = [case.outline for case in study.cases]
    left, right = window(["entry_radius_mm"], outlines) or (0, 0)
    assert left < 5 < right < 20  # the throat starts at 5 mm
    assert window(["cup_depth_mm"], outlines) == (0.0, 9.0)
    assert window(["length_mm"], outlines) is None


@pytest.mark.parametrize(
    ("value", "error", "words"),
    [(-18.2, 3.8, "−18 ± 4 %"), (2.0, 0.1, "+2.00 ± 0.10 %"), (np.nan, 1.0, "no result")],
)
def test_a_number_has_its_sign_and_its_uncertainty(value: float, error: float, words: str) -> None:
    assert drawing_of.number_text(value, error, "%") == words
