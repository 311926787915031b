"""The charts of the page hold the tables' numbers, and no text of a study gets out of its place."""

import base64
import hashlib
import json
import re
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import altair
import numpy as np
import pytest

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.interactive.collection import charts_of
from borestudy.report.interactive.looks import looks
from borestudy.report.interactive.panels import StudyCharts
from borestudy.report.interactive.parts import from_page, in_page, interactive, libraries
from borestudy.report.scripts import policy_of
from borestudy.rounding import with_both_errors, with_uncertainty

from .conftest import RATES, curves, make_study, with_acoustics

HOSTILE = "</script><script>alert(1)</script>"
WORDS = ("square", "rounded 1 mm", "rounded 2 mm")


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> PicturedStudy:
    """Three bores with every curve, whose last rate has no solution in the second."""
    made = make_study(tmp_path_factory.mktemp("study"), WORDS, unsolved=1)
    cases = [
        with_acoustics(case, curves=curves(float(number)), sound_speed_m_per_s=346.0)
        for number, case in enumerate(made.cases)
    ]
    errors = {f"impedance_{part}_Pa_s_per_m3_uncertainty": 3e4 for part in ("real", "imag")}
    changes = {"resonance_change_cents": [0.0, 2.1, 4.3]}
    changes |= {"resonance_change_cents_uncertainty": [0.0, 0.3, 0.4]}
    changes |= {"flow_resistance_change_percent": [0.0, -5.0, -8.0]}
    changes |= {"flow_resistance_change_percent_uncertainty": [0.0, 0.5, 0.6]}
    return replace(
        made,
        cases=cases,
        impedance=made.impedance.assign(**errors),
        comparison=made.comparison.assign(**changes),
    )


@pytest.fixture(scope="module")
def charts(study: PicturedStudy) -> StudyCharts:
    return charts_of(study)


def marks(panel: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of the marks that say something."""
    (layer,) = [one for one in panel["layer"] if "tooltip" in one["encoding"]]
    return list(layer["data"]["values"])


def lines(panel: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of the lines."""
    (layer,) = [one for one in panel["layer"] if one["mark"]["type"] == "line"]
    return list(layer["data"]["values"])


@pytest.mark.parametrize("name", ["impedance", "resistance-change", "trade-off"])
def test_a_chart_is_as_the_grammar_of_vega_lite_asks(charts: StudyCharts, name: str) -> None:
    for panel in charts.panels[name]:
        altair.Chart.from_dict(panel, validate=True)


def test_a_chart_stands_for_a_figure_of_its_name(
    study: PicturedStudy, charts: StudyCharts, tmp_path: Path
) -> None:
    figures = {record.name for record in draw_all(tmp_path, study)}
    assert set(charts.panels) <= figures
    assert {"bore-sections", "impedance", "pressure-drop", "mouthpiece"} <= set(charts.panels)


def test_charts_are_the_same_bytes_each_time(study: PicturedStudy, charts: StudyCharts) -> None:
    assert json.dumps(asdict(charts_of(study))) == json.dumps(asdict(charts))


def test_the_impedance_says_what_the_table_holds(study: PicturedStudy, charts: StudyCharts) -> None:
    table = study.impedance
    checked = 0
    for row in marks(charts.panels["impedance"][0]):
        case = study.cases[row["i"]].name
        at = table[(table["case"] == case) & np.isclose(table["frequency_Hz"], row["x"], rtol=1e-4)]
        real, imaginary = (at[f"impedance_{part}_Pa_s_per_m3"].iloc[0] for part in ("real", "imag"))
        size = abs(complex(real, imaginary))
        # equal errors of both parts are the error of the magnitude
        assert row["value"] == f"{with_uncertainty(1e-6 * size, 0.03)} MPa·s/m³"
        assert row["y"] == pytest.approx(1e-6 * size, rel=1e-5)
        assert row["bore"] == study.cases[row["i"]].label
        checked += 1
    assert checked > 3 * 8


def test_the_impedance_keeps_the_highest_point_of_each_curve(
    study: PicturedStudy, charts: StudyCharts
) -> None:
    table = study.impedance
    sizes = np.hypot(table["impedance_real_Pa_s_per_m3"], table["impedance_imag_Pa_s_per_m3"])
    for row in lines(charts.panels["impedance"][0]):
        highest = sizes[table["case"] == study.cases[row["i"]].name].max()
        assert max(row["y"]) == pytest.approx(1e-6 * highest, rel=1e-5)


def test_curves_that_coincide_are_told_apart_by_their_change(charts: StudyCharts) -> None:
    change = charts.panels["impedance"][1]
    assert {row["i"] for row in lines(change)} == {1, 2}
    assert max(abs(np.array(lines(change)[0]["y"], float))) > 0.5


def test_the_pressure_drop_says_what_the_table_holds(
    study: PicturedStudy, charts: StudyCharts
) -> None:
    drops, changes = (marks(panel) for panel in charts.panels["pressure-drop"])
    for row in study.flow.to_dict("records"):
        number = [case.name for case in study.cases].index(row["case"])
        at = {"i": number, "x": row["flow_rate_L_per_s"]}
        (found,) = [one for one in drops if at.items() <= one.items()] or [None]
        if not row["converged"]:
            assert found is None
            continue
        assert found is not None
        drop = "pressure_drop"
        four = [row[f"{drop}_Pa"], row[f"{drop}_Pa_uncertainty"]]
        four += [row[f"{drop}_model_error_{end}_Pa"] for end in ("low", "high")]
        assert found["value"] == f"{with_both_errors(*four)} Pa"
        assert found["hollow"] == (row["flow_rate_L_per_s"] == RATES[-1])
        if number:
            (found,) = [one for one in changes if at.items() <= one.items()]
            pair = (row[f"{drop}_change_percent"], row[f"{drop}_change_percent_uncertainty"])
            assert found["value"] == with_uncertainty(*pair, "%")
            assert found["y"] == pytest.approx(pair[0])
            assert found["yhigh"] - found["ylow"] == pytest.approx(2 * pair[1])


def test_a_line_looks_the_same_in_every_chart(charts: StudyCharts) -> None:
    domains = set()
    for name in ("impedance", "pressure-drop", "trade-off", "mouthpiece", "bore-sections"):
        for panel in charts.panels[name]:
            for layer in panel["layer"]:
                colour = layer["encoding"].get("color")
                if colour:
                    domains.add(json.dumps(colour["scale"]))
    assert len(domains) == 1


def test_no_two_lines_differ_in_colour_alone() -> None:
    every = looks(8)
    assert len({look.dash for look in every}) == len({look.shape for look in every}) == 8


def test_every_panel_can_lose_any_bore(charts: StudyCharts) -> None:
    for name, panels in charts.panels.items():
        for panel in panels:
            layers = [one for one in panel["layer"] if "i" in str(one["data"]["values"][:1])]
            assert all({"filter": "indexof(shown, datum.i) >= 0"} in one["transform"]
                       for one in layers if "transform" in one), name  # fmt: skip
            assert panel["params"] == [{"name": "shown", "value": [0, 1, 2]}]


def test_a_bore_alone_has_no_check_box(tmp_path: Path) -> None:
    alone = interactive(charts_of(make_study(tmp_path, ("square",), fields=False)))
    assert not alone.bores
    assert "impedance" in alone.charts


def test_no_text_ends_the_data_it_stands_in(tmp_path: Path) -> None:
    made = charts_of(make_study(tmp_path, ("square", HOSTILE), fields=False))
    text = in_page(made.panels["impedance"])
    assert re.fullmatch(r"[A-Za-z0-9+/=]+", text)
    assert HOSTILE in {row["bore"] for row in marks(from_page(text)[0])}


def test_the_policy_names_every_script_by_its_hash(charts: StudyCharts) -> None:
    made = interactive(charts)
    script = base64.b64encode(hashlib.sha256(made.script.encode()).digest()).decode()
    policy = policy_of(made.hashes)
    named = re.findall(r"'(sha256-[^']+)'", policy)
    assert f"sha256-{script}" in named
    assert len(named) == 1 + len(libraries())
    assert "unsafe" not in policy
