"""The page as a browser lays it out: nothing is cut, all is reached, and it prints short."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_core_python.selenium import Axe

from .conftest import Page

Opener = Callable[..., Page]
WIDTHS = (400, 800, 1300)
#: Width of a printed page between its margins: A4 less twice 18 mm, in CSS pixels.
PAPER = round((210 - 36) / 25.4 * 96)
#: How far each element that is shown reaches beyond the page, and each table and cell beyond its
#: place, in pixels; a drawing is one element.
BEYOND = """
const beyond = [];
for (const one of document.querySelectorAll("body *:not(svg *)")) {
  const box = one.getBoundingClientRect();
  if (!box.width || getComputedStyle(one).display === "none") continue;
  const over = Math.max(box.right - document.documentElement.clientWidth, -box.left,
    one.matches("th, td, .table, dd") ? one.scrollWidth - one.clientWidth : 0);
  if (over > 1) beyond.push([one.tagName, `${one.className}`, one.textContent.slice(0, 40), over]);
}
return [beyond, document.documentElement.scrollWidth - document.documentElement.clientWidth];
"""


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_wider_than_its_place(page: Opener, report: Path, width: int) -> None:
    opened = page(report, width)
    opened.open_layers()
    assert opened.run("return innerWidth;") == width
    assert opened.run(BEYOND) == [[], 0]


def test_nothing_is_wider_than_paper(page: Opener, report: Path) -> None:
    opened = page(report, PAPER)
    opened.on_paper()
    assert opened.run(BEYOND) == [[], 0]


def test_a_wide_screen_shows_tables_and_a_telephone_lists(page: Opener, report: Path) -> None:
    displays = {}
    for width in (400, 1300):
        opened = page(report, width)
        opened.open_layers()
        displays[width] = opened.run(
            "return [...document.querySelectorAll('table')]"
            ".map(one => getComputedStyle(one).display);"
        )
    assert displays[1300].count("block") <= 1
    assert displays[400].count("block") > len(displays[400]) / 2


@pytest.mark.parametrize("width", WIDTHS)
def test_the_first_screen_has_question_answer_picture_and_cautions(
    page: Opener, report: Path, width: int
) -> None:
    opened = page(report, width)
    shown = opened.run(
        "return ['h1', '.answer', '.first figure svg', '.care', '.layer'].map("
        "css => document.querySelector(css).getBoundingClientRect().top);"
    )
    assert shown == sorted(shown) or width == 1300  # there the picture stands beside
    assert "5.0" in opened.run("return document.querySelector('.answer').innerText;")
    assert opened.run("return document.querySelector('.answer').getBoundingClientRect().top;") < 400
    assert opened.run("return document.querySelectorAll('details[open]').length;") == 0


@pytest.mark.parametrize("width", [400, 1300])
def test_no_serious_fault_stands_in_the_way_of_any_reader(
    page: Opener, report: Path, width: int
) -> None:
    """By axe-core's rules, of WCAG 2.1 AA and good practice, with every layer open."""
    opened = page(report, width)
    opened.open_layers()
    # a drawing is one picture with a text of its own, and its thousand paths are slow to go through
    found = Axe().run(opened.browser, context={"exclude": [["svg > *"]]})
    assert len(found["passes"]) > 10
    faults = [
        (fault["id"], fault["impact"], [node["html"][:120] for node in fault["nodes"]][:3])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_every_layer_is_reached_and_opened_with_the_keyboard(page: Opener, report: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    opened = page(report)
    layers = opened.run("return document.querySelectorAll('details.layer').length;")
    body = opened.browser.find_element("tag name", "body")
    body.send_keys(Keys.TAB)
    reached = set()
    for _ in range(200):
        active = opened.browser.switch_to.active_element
        if active.tag_name == "summary":
            name = opened.run("return arguments[0].parentElement.id;", active)
            if name and name not in reached:
                reached.add(name)
                active.send_keys(Keys.ENTER)
                assert opened.run("return arguments[0].parentElement.open;", active)
                active.send_keys(Keys.ENTER)  # closed again: what is inside is not gone through
        if active.tag_name == "body" and reached:
            break
        active.send_keys(Keys.TAB)
    assert len(reached) == layers >= 6


def test_a_link_into_a_closed_layer_opens_it(page: Opener, report: Path) -> None:
    opened = page(report)
    for link in opened.browser.find_elements("css selector", ".answer a[href^='#']"):
        target = link.get_attribute("href").split("#")[1]
        link.click()
        assert opened.run("return document.getElementById(arguments[0]).checkVisibility();", target)


def test_every_table_and_figure_leads_to_its_numbers_and_to_its_checks(
    page: Opener, report: Path
) -> None:
    opened = page(report)
    opened.open_layers()
    without = opened.run(
        "return [...document.querySelectorAll('.table, figure')]"
        ".filter(one => !one.querySelector('.source a')).map(one => one.innerText.slice(0, 60));"
    )
    assert without == []
    dead = opened.run(
        "return [...document.querySelectorAll('a[href^=\"#\"]')].map(one => one.hash.slice(1))"
        ".filter(name => !document.getElementById(name));"
    )
    assert dead == []


def test_the_report_asks_for_nothing_and_the_console_is_silent(page: Opener, report: Path) -> None:
    opened = page(report)
    opened.open_layers()
    assert opened.requested() == []
    assert opened.console() == []


def test_it_prints_on_ten_pages_of_a4(page: Opener, report: Path) -> None:
    pdf = page(report).printed()
    size = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    assert size
    assert [round(float(side) / 72 * 25.4) for side in size.groups()] == [210, 297]
    assert 3 < len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 10


def test_print_has_every_layer_and_of_a_long_table_the_rows_that_fit(
    page: Opener, report: Path
) -> None:
    opened = page(report, PAPER)
    opened.on_paper()
    shown = opened.run(
        "return [...document.querySelectorAll('details.layer')]"
        ".map(one => [one.open, [...one.querySelectorAll('p, table, li')]"
        ".some(part => part.checkVisibility())]);"
    )
    assert len(shown) >= 6
    assert all(visible and not is_open for is_open, visible in shown)
    assert not opened.run("return document.querySelector('details.more').checkVisibility();")
