"""Where a case has no value stands a word, and no mark of another case under it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.trends import draw_resistance, draw_resonance
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.flow import printed_flow
from borestudy.report.topic import RESONANCE
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedFlow

from .conftest import make_study
from .test_layout import (
    SIZES,
    caught,
    extents,
    kept_by,
    whole,
    without_a_case,
    words_of,
    write,
)


@pytest.fixture
def grid() -> pd.DataFrame:
    """Two depths by two lengths, of which the last case has no value."""
    return pd.DataFrame(
        {
            "case": ["a", "b", "c", "d"],
            "length_mm": [88.0, 88.0, 85.0, 85.0],
            "cup_depth_mm": [10.8, 12.1, 10.8, 12.1],
            "resonance_Hz": [91.6, 91.5, 91.7, np.nan],
            "resonance_Hz_uncertainty": [0.01, 0.01, 0.01, np.nan],
            "resonance_Q": [18.69, 18.68, 18.70, np.nan],
            "resonance_Q_uncertainty": [0.01, 0.01, 0.01, np.nan],
            "impedance_peak_Pa_s_per_m3": [1.0136e8, 1.0161e8, 1.0126e8, np.nan],
            "impedance_peak_Pa_s_per_m3_uncertainty": [7e4, 7e4, 7e4, np.nan],
            "resonance_change_cents": [0.0, -1.89, 1.89, np.nan],
            "resonance_change_cents_uncertainty": [0.0, 0.02, 0.02, np.nan],
            "resonance_Q_change_percent": [0.0, -0.05, 0.05, np.nan],
            "resonance_Q_change_percent_uncertainty": [0.0, 0.01, 0.01, np.nan],
            "impedance_peak_change_percent": [0.0, 0.25, -0.1, np.nan],
            "impedance_peak_change_percent_uncertainty": [0.0, 0.02, 0.02, np.nan],
        }
    )


def study_of(grid: pd.DataFrame, flow: pd.DataFrame | None = None) -> PicturedStudy:
    """The grid as a study without anything but its tables."""
    return PicturedStudy(
        cases=(),
        comparison=grid,
        flow=pd.DataFrame() if flow is None else flow,
        impedance=pd.DataFrame(),
        varied=["length_mm", "cup_depth_mm"],
    )


def words_on_marks(drawing: Figure, words: str) -> tuple[int, list[str]]:
    """How many times a word stands on a figure, and what lies under it."""
    found, under = 0, []
    for text, box in extents(drawing):
        if text.get_text() != words:
            continue
        found += 1
        assert text.axes is not None
        axes = text.axes
        points = [
            axes.transData.transform(np.column_stack([line.get_xdata(), line.get_ydata()]))
            for line in axes.lines
            if line.get_marker() in ("o", "s")
        ]
        bars = [
            axes.transData.transform(np.linspace(segment[0], segment[-1], 20))
            for collection in axes.collections
            if isinstance(collection, LineCollection)
            for segment in collection.get_segments()
            if len(segment)
        ]
        for place in np.concatenate(points + bars):
            if np.isfinite(place).all() and box.padded(2).contains(*place):
                under.append(f"{place} under {box}")
        assert axes.bbox.padded(1).contains(*box.min), "the word leaves its panel"
        assert axes.bbox.padded(1).contains(*box.max), "the word leaves its panel"
    return found, under


def test_no_mark_lies_under_the_word_for_a_missing_resonance(
    tmp_path: Path, grid: pd.DataFrame
) -> None:
    drawing = caught(lambda: draw_resonance(study_of(grid), tmp_path))
    assert words_on_marks(drawing, "no value") == (3, [])


def test_no_bar_lies_under_the_word_for_a_missing_resistance(
    tmp_path: Path, grid: pd.DataFrame
) -> None:
    flow = pd.DataFrame(
        {
            "case": grid["case"],
            "flow_rate_L_per_s": 0.1,
            "regime": "transitional",
            "converged": [True, True, True, False],
            "pressure_drop_Pa": [30.0, 31.0, 20.0, np.nan],
            "pressure_drop_Pa_uncertainty": [1.0, 1.0, 1.0, np.nan],
            "pressure_drop_low_Pa": [25.0, 25.0, 5.0, np.nan],
            "pressure_drop_high_Pa": [70.0, 70.0, 35.0, np.nan],
        }
    )
    drawing = caught(lambda: draw_resistance(study_of(grid, flow), tmp_path))
    assert words_on_marks(drawing, "did not converge") == (1, [])


NO_MESH = "not meshed: gmsh made no mesh of this bore: it reached the limit of 1 GB of memory"


def test_what_has_no_mesh_is_not_said_to_have_failed_to_converge(tmp_path: Path) -> None:
    study = without_a_case(make_study(tmp_path, SIZES[:3]), 1)
    lost = study.flow["case"] == study.cases[1].name
    study.flow.loc[lost, "note"] = f"no number: {NO_MESH}"
    results = CaseResults(study.cases[1].name, flow=EstimatedFlow(not_meshed={"estimate": NO_MESH}))
    cases = [*study.cases]
    cases[1] = replace(cases[1], results=results)
    study = replace(study, cases=cases)
    drawings = kept_by(lambda: write(study, tmp_path))
    said = {
        name.removeprefix(".").removesuffix(".unfinished"): {
            text.get_text() for text in words_of(drawing)
        }
        for name, drawing in drawings.items()
    }
    for name in ("resistance-trend", "throat-entry"):
        assert "not meshed" in said[name], name
    assert f"{SIZES[1]} (not meshed)" in said["axis-pressure"]
    for name, texts in said.items():
        assert not any("converge" in text for text in texts), name
    tables = [*printed_comparisons(study.comparison, study.flow), printed_flow(study.flow)]
    cells = [cell.text for table in tables for row in table.rows for cell in row]
    assert "not meshed" in cells
    assert "did not converge" not in cells


def test_a_case_without_peaks_is_named_so_among_those_with_peaks(tmp_path: Path) -> None:
    study = without_a_case(whole(make_study(tmp_path, SIZES[:3], fields=False)), 1)
    write(study, tmp_path, topic=RESONANCE)
    assert f"{SIZES[1]} (no result)" in (tmp_path / "peaks.svg").read_text()
