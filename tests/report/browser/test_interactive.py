"""What a reader does with the page: points, switches bores off, zooms, sorts, searches, copies."""

import base64
import hashlib
import html
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from axe_core_python.selenium import Axe
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from borestudy.report.content import ResultTables, StudyReport
from borestudy.report.figures.collection import draw_all
from borestudy.report.interactive.collection import charts_of
from borestudy.report.page import write_report
from borestudy.rounding import with_uncertainty

from ..conftest import curves, make_study, with_acoustics
from .conftest import Page

Opener = Callable[..., Page]
HOSTILE = "</script><script>window.broken = 1</script><img src=x onerror='window.broken = 2'>"
#: More bores than a table shows without a field to search in.
CASES = ("square", HOSTILE, *(f"rounded {radius} mm" for radius in (0.25, 0.5, 1, 2, 3, 4)))
#: Charts that have a curve or a mark of every bore.
EVERYWHERE = ("bore-sections", "impedance", "mouthpiece", "pressure-drop", "trade-off", "headline")


@pytest.fixture(scope="session")
def lively(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """A report with charts and a bore of a hostile name, and the study it is of."""
    folder = tmp_path_factory.mktemp("lively")
    made = make_study(folder, CASES, fields=False)
    cases = [
        with_acoustics(case, curves=curves(float(number)), sound_speed_m_per_s=346.0)
        for number, case in enumerate(made.cases)
    ]
    errors = {f"impedance_{part}_Pa_s_per_m3_uncertainty": 3e4 for part in ("real", "imag")}
    places = range(len(CASES))
    changes = {
        "resonance_change_cents": [2.1 * place for place in places],
        "resonance_change_cents_uncertainty": [0.1 * place for place in places],
        # neither in rising nor in falling order, nor in that of their letters
        "flow_resistance_change_percent": [0.0, -12.0, 9.5, -3.2, -100.0, 4.4, 0.25, -8.0],
        "flow_resistance_change_percent_uncertainty": [0.0, *([0.4] * (len(CASES) - 1))],
    }
    study = replace(
        made,
        cases=cases,
        impedance=made.impedance.assign(**errors),
        comparison=made.comparison.assign(**changes),
    )
    path = folder / "report.html"
    write_report(
        path,
        StudyReport(
            title=HOSTILE,
            question=f"Does {HOSTILE} matter?",
            answers=[HOSTILE],
            first=[f"It does: {HOSTILE}"],
            tables=ResultTables(comparison=study.comparison, flow=study.flow),
            figures=draw_all(folder / "figures", study),
            labels={case.name: case.label for case in study.cases},
            charts=charts_of(study),
        ),
    )
    return path, study


def wait(opened: Page, script: str, *arguments: Any) -> Any:
    """What a script returns as soon as that is true."""
    return WebDriverWait(opened.browser, 60, poll_frequency=0.1).until(
        lambda _: opened.run(script, *arguments)
    )


def bring(opened: Page, name: str) -> Any:
    """A figure that is in view and drawn as a chart."""
    opened.open_layers()
    figure = opened.browser.find_element("id", f"figure-{name}")
    opened.run("arguments[0].scrollIntoView({block: 'center'});", figure)
    wait(opened, "return arguments[0].classList.contains('drawn');", figure)
    for panel in figure.find_elements("css selector", ".panel"):  # drawn when it comes into view
        opened.run("arguments[0].scrollIntoView({block: 'center'});", panel)
        wait(opened, "return arguments[0].tabIndex === 0;", panel)
    return figure


def colours(opened: Page, name: str) -> set[str]:
    """Colours of lines and marks in a chart."""
    return set(
        opened.run(
            "return [...document.querySelectorAll(`#figure-${arguments[0]} .chart "
            "g.mark-line path, #figure-${arguments[0]} .chart g.mark-symbol path`)]"
            ".filter(one => one.closest('.role-legend') === null)"
            ".map(one => one.getAttribute('stroke'));",
            name,
        )
    )


def test_figures_become_charts_without_a_word_to_the_console_or_the_network(
    page: Opener, lively: tuple[Path, Any]
) -> None:
    opened = page(lively[0])
    for name in EVERYWHERE:
        assert opened.run(
            "return arguments[0].querySelector('.chart svg') !== null;", bring(opened, name)
        )
    opened.run("for (const one of document.querySelectorAll('.table')) one.scrollIntoView();")
    assert opened.requested() == []
    assert opened.console() == []


def test_a_hostile_name_stays_text_everywhere(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    for name in EVERYWHERE:
        bring(opened, name)
    assert opened.run("return window.broken === undefined && document.images.length === 0;")
    assert HOSTILE in opened.run("return document.querySelector('.bores').textContent;")
    assert HOSTILE in opened.run("return document.querySelector('h1').textContent;")


def test_the_pointer_is_told_the_value_of_the_table(page: Opener, lively: tuple[Path, Any]) -> None:
    path, study = lively
    opened = page(path)
    figure = bring(opened, "pressure-drop")
    row = study.flow[study.flow["case"] == study.cases[3].name].iloc[-1]
    said = with_uncertainty(
        row["pressure_drop_change_percent"], row["pressure_drop_change_percent_uncertainty"], "%"
    )
    # the mark of the fourth bore's last rate in the second panel
    place = opened.run(
        "const marks = [...arguments[0].querySelectorAll('.panel')].at(-1)"
        ".querySelectorAll('.mark-symbol path');"
        "const one = [...marks].filter(mark => mark.__data__.datum.i === 3).at(-1);"
        "one.scrollIntoView({block: 'center'});"
        "const box = one.getBoundingClientRect();"
        "return [box.x + box.width / 2, box.y + box.height / 2];",
        figure,
    )
    pointer = ActionChains(opened.browser)
    pointer.w3c_actions.pointer_action.move_to_location(int(place[0]) + 9, int(place[1]))
    pointer.w3c_actions.pointer_action.move_to_location(int(place[0]) + 1, int(place[1]))
    pointer.perform()
    told = wait(
        opened,
        "const one = document.querySelector('#vg-tooltip-element.visible');"
        "return one && one.textContent;",
    )
    assert said in told
    assert study.cases[3].label in told


def test_a_bore_that_is_switched_off_leaves_every_chart_and_comes_back(
    page: Opener, lively: tuple[Path, Any]
) -> None:
    opened = page(lively[0])
    for name in EVERYWHERE:
        bring(opened, name)
    numbers = (
        "return [...document.querySelectorAll(`#figure-${arguments[0]} .chart path, "
        "#figure-${arguments[0]} .chart text`)].map(one => one.__data__ && one.__data__.datum)"
        ".filter(one => one && 'i' in one).map(one => one.i);"
    )
    assert all(4 in opened.run(numbers, name) for name in EVERYWHERE)
    box = opened.browser.find_element("css selector", ".bores input[value='4']")
    opened.run("arguments[0].focus();", box)
    box.send_keys(Keys.SPACE)
    for name in EVERYWHERE:
        wait(opened, f"return !(() => {{ {numbers} }})().includes(4);", name)
        assert {0, 3, 5} <= set(opened.run(numbers, name))
    # a chart that comes into view afterwards has lost it too
    bring(opened, "resistance-change")
    wait(opened, f"return !(() => {{ {numbers} }})().includes(4);", "resistance-change")
    box.send_keys(Keys.SPACE)
    for name in (*EVERYWHERE, "resistance-change"):
        wait(opened, f"return (() => {{ {numbers} }})().includes(4);", name)


def test_a_picture_of_a_bore_goes_with_it(page: Opener, tmp_path: Path) -> None:
    study = make_study(tmp_path)
    figures = [one for one in draw_all(tmp_path / "figures", study) if one.name == "throat-entry"]
    path = tmp_path / "report.html"
    tables = ResultTables(comparison=study.comparison, flow=study.flow)
    write_report(
        path,
        StudyReport(
            title="t", question="q", answers=[], tables=tables, figures=figures,
            charts=charts_of(study),
        ),
    )  # fmt: skip
    opened = page(path)
    opened.open_layers()
    seen = (
        "return [0, 1].map(one => "
        "document.getElementById(`throat-entry-bore-${one}`).getBoundingClientRect().height > 0);"
    )
    assert opened.run(seen) == [True, True]
    opened.run("document.querySelector('.bores input[value=\"1\"]').click();")
    assert opened.run(seen) == [True, False]


def test_sixty_bores_are_a_small_page_that_is_soon_there(page: Opener, tmp_path: Path) -> None:
    """Time is that of the browser's main thread, which a busy machine does not lengthen."""
    study = make_study(tmp_path, tuple(f"rounded {place} mm" for place in range(60)), fields=False)
    path = tmp_path / "report.html"
    write_report(
        path,
        StudyReport(
            title="t",
            question="q",
            answers=["It does."],
            tables=ResultTables(comparison=study.comparison, flow=study.flow),
            figures=draw_all(tmp_path / "figures", study),
            charts=charts_of(study),
        ),
    )
    assert path.stat().st_size <= 6e6
    opened = page(tmp_path / "figures" / "impedance.svg")
    opened.browser.execute_cdp_cmd("Performance.enable", {"timeDomain": "threadTicks"})

    def busy() -> float:
        found = opened.browser.execute_cdp_cmd("Performance.getMetrics", {})["metrics"]
        return float({one["name"]: one["value"] for one in found}["TaskDuration"])

    try:
        opened = page(path)
        wait(opened, "return document.querySelector('figure.drawn') !== null;")
        assert busy() < 2
        for layer in ("comparison", "flow", "resonance"):
            before = busy()
            opened.run(
                "const one = document.getElementById(arguments[0]);"
                "one.open = true; one.scrollIntoView();",
                layer,
            )
            wait(
                opened,
                "return document.getElementById(arguments[0])"
                ".querySelector('figure.drawn, table.dataTable') !== null;",
                layer,
            )
            assert busy() - before < 2
    finally:
        opened.browser.execute_cdp_cmd("Performance.disable", {})


def test_a_line_has_the_colour_of_its_check_box(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    bring(opened, "impedance")
    boxes = opened.run(
        "return [...document.querySelectorAll('.bores label path[fill=none]')]"
        ".map(one => one.getAttribute('stroke'));"
    )
    assert len(set(boxes)) == len(CASES)
    assert set(boxes) <= colours(opened, "impedance")


def test_keys_and_buttons_zoom_and_go_back(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    figure = bring(opened, "impedance")
    labels = (
        "return [...arguments[0].querySelector('.panel').querySelectorAll('.role-axis-label text')]"
        ".map(one => one.textContent).sort().join();"
    )
    whole = opened.run(labels, figure)
    panel = figure.find_element("css selector", ".panel")
    opened.run("arguments[0].focus();", panel)
    panel.send_keys("+")
    wait(opened, f"return (() => {{ {labels} }})() !== arguments[1];", figure, whole)
    panel.send_keys("0")
    wait(opened, f"return (() => {{ {labels} }})() === arguments[1];", figure, whole)
    zoom = figure.find_element("css selector", ".zoom button")
    opened.run("arguments[0].click();", zoom)
    wait(opened, f"return (() => {{ {labels} }})() !== arguments[1];", figure, whole)


def changes_column(opened: Page) -> list[str]:
    """The cells of the change of the resistance in the first table of the comparison."""
    return list(
        opened.run(
            "const table = document.querySelector('#comparison table');"
            "const place = [...table.tHead.rows].at(-1).cells.length && [...[...table.tHead.rows]"
            ".at(-1).cells].findIndex(one => one.textContent.includes('Change'));"
            "return [...table.tBodies[0].rows].map(row => row.cells[place].textContent.trim());"
        )
    )


def test_a_table_is_sorted_by_value_and_not_by_letters(
    page: Opener, lively: tuple[Path, Any]
) -> None:
    opened = page(lively[0])
    opened.open_layers()
    table = opened.browser.find_element("css selector", "#comparison table")
    opened.run("arguments[0].scrollIntoView();", table)
    wait(opened, "return arguments[0].classList.contains('dataTable');", table)
    given = changes_column(opened)
    head = opened.run(
        "return [...arguments[0].tHead.querySelectorAll('th')]"
        ".find(one => one.textContent.includes('Change'));",
        table,
    )
    opened.run("arguments[0].querySelector('.dt-column-order').focus();", head)
    opened.run("arguments[0].querySelector('.dt-column-order').click();", head)
    numbers = [float(re.split(" ", cell)[0].replace("−", "-")) for cell in changes_column(opened)]
    assert changes_column(opened) != given
    assert numbers == sorted(numbers)
    assert numbers[0] == -100
    opened.run("arguments[0].querySelector('.dt-column-order').click();", head)
    numbers = [float(re.split(" ", cell)[0].replace("−", "-")) for cell in changes_column(opened)]
    assert numbers == sorted(numbers, reverse=True)


def test_a_table_is_searched_and_copied(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    opened.open_layers()
    table = opened.browser.find_element("css selector", "#comparison table")
    opened.run("arguments[0].scrollIntoView({block: 'center'});", table)
    wait(opened, "return arguments[0].classList.contains('dataTable');", table)
    field = opened.browser.find_element("css selector", "#comparison .dt-search input")
    field.send_keys("square")
    wait(opened, "return arguments[0].tBodies[0].rows.length === 1;", table)
    # a browser lets a page write to the clipboard only where a reader has clicked
    opened.browser.find_element("css selector", "#comparison .dt-buttons button").click()
    wait(opened, "return document.querySelector('.dt-button-info') !== null;")
    opened.run("arguments[0].value = ''; arguments[0].focus();", field)
    field.send_keys(Keys.CONTROL, "v")
    pasted = opened.run("return arguments[0].value;", field)
    assert "square" in pasted
    assert "rounded" not in pasted


def test_on_paper_the_figures_stand_and_no_control(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    bring(opened, "impedance")
    opened.on_paper()
    shown = opened.run(
        "const shown = css => [...document.querySelectorAll(css)].filter("
        "one => one.checkVisibility() && one.getBoundingClientRect().height > 0).length;"
        "return ['#figure-impedance > svg', '.chart', '.bores', '.dt-buttons', '.dt-search', "
        "'.zoom', '.of-chart'].map(shown);"
    )
    assert shown == [1, 0, 0, 0, 0, 0, 0]


def test_without_scripts_the_page_is_whole(page: Opener, lively: tuple[Path, Any]) -> None:
    opened = page(lively[0])
    opened.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened.browser.get(lively[0].resolve().as_uri())
        shown = [
            one.is_displayed()
            for css in (".answer", ".first figure > svg", ".layer", ".bores", ".hint", ".of-chart")
            for one in opened.browser.find_elements("css selector", css)[:1]
        ]
    finally:
        opened.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert shown == [True, True, True, False, False, False]


@pytest.mark.parametrize("width", [400, 800, 1300])
def test_no_word_of_a_chart_is_cut(page: Opener, lively: tuple[Path, Any], width: int) -> None:
    opened = page(lively[0], width)
    cut = []
    for name in (*EVERYWHERE, "resistance-trend", "resistance-change"):
        figure = bring(opened, name)
        cut += opened.run(
            "const found = []; for (const svg of arguments[0].querySelectorAll('.chart svg')) {"
            " const frame = svg.getBoundingClientRect();"
            " const wide = document.documentElement.clientWidth;"
            " if (frame.right > wide + 1) found.push(['svg', frame.right]);"
            " for (const one of svg.querySelectorAll('text')) {"
            "  const box = one.getBoundingClientRect();"
            "  if (box.width && (box.left < frame.left - 1 || box.right > frame.right + 1))"
            "   found.push([arguments[0].id, one.textContent, box.left - frame.left, "
            "     box.right - frame.right]); } } return found;",
            figure,
        )
    assert cut == []


@pytest.mark.parametrize("width", [400, 1300])
def test_charts_and_controls_have_no_serious_fault(
    page: Opener, lively: tuple[Path, Any], width: int
) -> None:
    opened = page(lively[0], width)
    for name in EVERYWHERE:
        bring(opened, name)
    table = opened.browser.find_element("css selector", "#comparison table")
    opened.run("arguments[0].scrollIntoView();", table)
    wait(opened, "return arguments[0].classList.contains('dataTable');", table)
    found = Axe().run(opened.browser, context={"exclude": [["figure > svg > *"]]})
    faults = [
        (fault["id"], fault["impact"], [node["html"][:160] for node in fault["nodes"]][:3])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_no_script_runs_but_those_of_the_policy(lively: tuple[Path, Any]) -> None:
    text = lively[0].read_text("utf-8")
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    policy = html.unescape(policy)
    (own,) = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(own.encode()).digest()).decode()
    assert f"'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "script-src 'unsafe" not in policy
