"""Two bores are listened to: with the pointer and with keys, one at a time, at the same place."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_core_python.selenium import Axe
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

from borestudy.report.content import ResultTables, StudyReport
from borestudy.report.listening import BoreSounds
from borestudy.report.page import write_report

from ..conftest import make_study
from ..playing import with_playing, write_sound
from ..test_playing import tables_of
from .conftest import Page

Opener = Callable[..., Page]
WORDS = ("square", "rounded 0.5 mm", "rounded 1 mm")
SECONDS = 3.0
#: Numbers and levels of the sounds that are heard.
HEARD = (
    "return [...document.querySelectorAll('audio')].filter(one => !one.paused)"
    ".map(one => `${one.dataset.bore} ${one.dataset.level}`);"
)


@pytest.fixture(scope="module")
def listened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report with sounds and without charts, of three bores; the last has no soft sound."""
    folder = tmp_path_factory.mktemp("listened")
    study = with_playing(make_study(folder, WORDS, fields=False))
    path = write_sound(folder / "sound.wav", 440.0, SECONDS)
    sounds = [
        BoreSounds(label=word, files={level: path for level in ("soft", "loud")[place == 2 :]})
        for place, word in enumerate(WORDS)
    ]
    tables = tables_of(study)
    write_report(
        folder / "report.html",
        StudyReport(
            title="a study",
            question="Is it easier to start?",
            answers=["It is."],
            playing=["It starts with less pressure.", "It sounds higher."],
            tables=ResultTables(
                comparison=study.comparison,
                onset=tables.onset,
                onset_changes=tables.onset_changes,
                tone=tables.tone,
            ),
            sounds=sounds,
        ),
    )
    return folder / "report.html"


def at_player(page: Opener, path: Path, width: int = 1300) -> Page:
    """The page with its part on playing open, at the player."""
    opened = page(path, width)
    opened.run(
        "const one = document.getElementById('playing'); one.open = true;"
        "document.querySelector('.two').scrollIntoView();"
    )
    return opened


def press(opened: Page, name: str) -> None:
    opened.browser.find_element("css selector", f".two [name={name}]").click()


def wait(opened: Page, condition: str, *arguments: Any) -> None:
    WebDriverWait(opened.browser, 20).until(lambda _: opened.run(condition, *arguments))


def heard(opened: Page) -> list[str]:
    return list(opened.run(HEARD))


def told(opened: Page) -> str:
    return str(opened.run("return document.querySelector('.two [role=status]').textContent;"))


def test_a_switch_goes_on_at_the_same_place_of_the_other_bores_sound(
    page: Opener, listened: Path
) -> None:
    opened = at_player(page, listened)
    assert heard(opened) == []
    press(opened, "play")
    assert heard(opened) == ["0 soft"]
    assert told(opened) == "You hear A, square, soft"
    wait(opened, "return document.querySelector('audio').currentTime > 0.3;")
    places = opened.run(
        "const [first] = document.querySelectorAll('audio'), before = first.currentTime;"
        "document.querySelector('.two [name=swap]').click();"
        "const next = [...document.querySelectorAll('audio')].find(one => !one.paused);"
        "return [before, next.currentTime];"
    )
    assert places[1] == pytest.approx(places[0], abs=0.02)
    assert heard(opened) == ["1 soft"]
    assert told(opened) == "You hear B, rounded 0.5 mm, soft"
    press(opened, "swap")
    assert heard(opened) == ["0 soft"]
    press(opened, "play")
    assert heard(opened) == []
    assert told(opened) == "Ready: A, square, soft"
    assert opened.console() == []


def test_level_and_bores_are_chosen_while_one_is_heard(page: Opener, listened: Path) -> None:
    opened = at_player(page, listened)
    press(opened, "play")
    opened.browser.find_element("css selector", ".two input[value=loud]").click()
    assert heard(opened) == ["0 loud"]
    Select(opened.browser.find_element("name", "b")).select_by_visible_text(WORDS[2])
    assert heard(opened) == ["2 loud"]
    opened.browser.find_element("css selector", ".two input[value=soft]").click()
    assert heard(opened) == []
    assert told(opened) == "Ready: B, rounded 1 mm, soft: there is no sound of it"


def test_a_sounds_own_controls_stop_the_others(page: Opener, listened: Path) -> None:
    opened = at_player(page, listened)
    press(opened, "play")
    assert heard(opened) == ["0 soft"]
    opened.run("document.querySelectorAll('audio')[2].play();")
    wait(opened, f"return (() => {{ {HEARD} }})().join() === '1 soft';")
    assert told(opened) == "Ready: A, square, soft"


def test_two_bores_are_compared_with_the_keyboard_alone(page: Opener, listened: Path) -> None:
    opened = at_player(page, listened)
    opened.run("document.querySelector('.two select').focus();")
    reached = []
    for _ in range(5):
        active = opened.browser.switch_to.active_element
        reached.append(active.get_attribute("name"))
        if reached[-1] == "play":
            active.send_keys(Keys.SPACE)
            assert heard(opened) == ["0 soft"]
        elif reached[-1] == "swap":
            active.send_keys(Keys.ENTER)
            assert heard(opened) == ["1 soft"]
        active.send_keys(Keys.TAB)
    assert reached == ["a", "b", "level", "play", "swap"]


@pytest.mark.parametrize("width", [400, 1300])
def test_the_player_fits_and_has_no_serious_fault(page: Opener, listened: Path, width: int) -> None:
    opened = at_player(page, listened, width)
    opened.open_layers()
    wide = "return document.documentElement.scrollWidth - document.documentElement.clientWidth;"
    assert opened.run(wide) == 0
    found = Axe().run(opened.browser, context={"include": [["#playing"]]})
    faults = [
        (fault["id"], [node["html"][:160] for node in fault["nodes"]][:3])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_without_scripts_every_sound_has_controls_of_its_own(page: Opener, listened: Path) -> None:
    opened = page(listened)
    opened.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened.browser.get(listened.resolve().as_uri())
        shown = [
            opened.browser.find_element("css selector", css).get_attribute("hidden") is None
            for css in (".two", ".listen audio[controls]")
        ]
        count = len(opened.browser.find_elements("css selector", "audio[controls][src]"))
    finally:
        opened.browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert shown == [False, True]
    assert count == 5


def test_no_sound_is_printed(page: Opener, listened: Path) -> None:
    opened = at_player(page, listened)
    opened.on_paper()
    assert not opened.run("return document.querySelector('.listen').checkVisibility();")
