"""A real browser without a window, in which a report is opened, measured, clicked and printed."""

import base64
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from selenium import webdriver

from borestudy.report.content import MadeFrom, ResultTables, StudyReport
from borestudy.report.figures.collection import draw_all
from borestudy.report.figures.comparison_errors import draw_measurements
from borestudy.report.listening import BoreSounds
from borestudy.report.page import write_report
from borestudy.results.comparison_errors import comparison_table, shipped_comparisons

from ..conftest import make_study
from ..playing import write_sound
from ..sensitive import sensitivities
from ..test_layout import whole
from ..test_playing import tables_of
from ..toleranced import tolerances

BROWSERS = ("chromium", "google-chrome", "chrome")
DRIVER = "chromedriver"
#: A tests' root has no user but root, whom the browser's own fences refuse, and little shared
#: memory; nothing is fetched.
OPTIONS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
)  # fmt: skip


@dataclass(frozen=True)
class Page:
    """A report in the browser; `browser` is Selenium's, for all that is not asked here."""

    browser: webdriver.Chrome

    def run(self, script: str, *arguments: Any) -> Any:
        """Run JavaScript, whose `return` is returned."""
        return self.browser.execute_script(script, *arguments)

    def open_layers(self) -> None:
        """Open every layer, and what opens within it."""
        self.run("document.querySelectorAll('details').forEach(one => { one.open = true; });")

    def printed(self) -> bytes:
        """The page as a PDF file on A4, as the browser prints it."""
        made = self.browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        return base64.b64decode(made["data"])

    def on_paper(self, on: bool = True) -> None:
        """Lay the page out as for print."""
        media = {"media": "print" if on else ""}
        self.browser.execute_cdp_cmd("Emulation.setEmulatedMedia", media)

    def console(self) -> list[str]:
        """What the console was told since it was last asked, warnings and errors alone."""
        told = self.browser.get_log("browser")
        return [line["message"] for line in told if line["level"] in ("WARNING", "SEVERE")]

    def requested(self) -> list[str]:
        """Addresses that were asked for, but for the page's own."""
        found = self.run("return performance.getEntriesByType('resource').map(one => one.name);")
        return [address for address in found if not address.startswith("data:")]


@pytest.fixture(scope="session")
def browser() -> Iterator[webdriver.Chrome]:
    """One browser for all tests."""
    program = next(filter(None, map(shutil.which, BROWSERS)), None)
    if program is None:
        pytest.skip("no browser on this machine: `sh install.sh test` installs Debian's chromium")
    driver = shutil.which(DRIVER)
    assert driver, f"{program} is there without {DRIVER}: `sh install.sh test` installs both"
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for option in OPTIONS:
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    made = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    made.set_script_timeout(120)
    yield made
    made.quit()


@pytest.fixture
def page(browser: webdriver.Chrome) -> Iterator[Callable[..., Page]]:
    """Open a report in a window of a width in pixels: ``page(report_path, 800)``."""

    def opened(path: Path, width: int = 1300, height: int = 900) -> Page:
        # a window has a least width of its own, which is more than a telephone's
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.get_log("browser")
        browser.get(path.resolve().as_uri())
        return Page(browser)

    yield opened
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    browser.get("about:blank")


#: As many cases, and checks and rows of the budget, as the demonstration has.
CASES = ("square", *(f"rounded {radius} mm" for radius in ("0.25", "0.5", "1", "2")))
CHECKS, BUDGET = (22, 46), 17


def verification() -> pd.DataFrame:
    """Checks with names as long as those of a study."""
    fields, count = CHECKS
    rows = [
        {
            "check": f"straight throat of 3.66 mm with wall losses, {place % fields}",
            "quantity": "exponent of radius in Q of resonance 1",
            "unit": "Hz",
            "computed": 1972.156749767634 + place,
            "reference": 1972.1567362260362 + place,
            "deviation_percent": 6.866390262277717e-07,
            "tolerance_percent": 0.02,
            "verdict": "pass",
            "source": "Zwikker & Kosten 1949, exact tube functions",
        }
        for place in range(count)
    ]
    return pd.DataFrame(rows)


def budget() -> pd.DataFrame:
    """Sources of uncertainty as a study has them."""
    rows = [
        {
            "quantity": "flow resistance, kPa·s/L" if place % 2 else "first resonance, Hz",
            "source": "workshop error of throat diameter ± 0.0254 mm",
            "size": 1.183e-7 * (1 + place),
            "size_percent": 0.003999,
            "dominant": place == 0,
        }
        for place in range(BUDGET)
    ]
    return pd.DataFrame(rows)


def by_hand(case: str) -> pd.DataFrame:
    """Formulas of each layer, with words as long as those of a study."""
    quantities = (("cup volume", None), ("resonance", None), ("pressure drop at 0.2 L/s", 0.2))
    rows = [
        {
            "case": case,
            "quantity": quantity,
            "flow_rate_L_per_s": rate,
            "formula": "c/2π √(S/(V (l + 16 r/3π))), a resonator of cup and throat",
            "hand_value": 2194.061697,
            "unit": "Hz",
            "computed": 811.717467,
            "uncertainty": 0.00965,
            "difference_percent": 170.2987,
            "reason": "the formula leaves out the air in the backbore, 5.9 times as heavy",
        }
        for quantity, rate in quantities
    ]
    return pd.DataFrame(rows)


@pytest.fixture(scope="session")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A made-up report with every layer, as long as the demonstration's."""
    folder = tmp_path_factory.mktemp("report")
    study = whole(make_study(folder, CASES, unsolved=2, fields=False))
    verdict = "no difference beyond the numerical uncertainty"
    comparison = study.comparison.assign(
        rim_diameter_mm=16.2, throat_diameter_mm=3.6576, length_mm=88.0, cup_depth_mm=10.7,
        backbore_volume_cm3=2.406, throat_length_mm=4.839,
        resonance_change_cents=-123.456, resonance_change_cents_uncertainty=0.003,
        resonance_change_verdict=verdict, flow_resistance_change_percent=-25.48,
        flow_resistance_change_percent_uncertainty=0.11, flow_resistance_change_verdict=verdict,
        resonance_Q_change_percent=-1.0, resonance_Q_change_verdict=verdict,
        impedance_peak_change_percent=-20.4, impedance_peak_change_verdict=verdict,
    )  # fmt: skip
    labels = {case.name: case.label for case in study.cases}
    effects = sensitivities(list(labels))
    figures = draw_all(folder / "figures", replace(study, sensitivities=effects))
    measured = draw_measurements(shipped_comparisons(), folder / "figures")
    played = tables_of(study)
    sound = write_sound(folder / "sound.wav", 440.0)
    path = folder / "report.html"
    write_report(
        path,
        StudyReport(
            title="a study",
            question="Does it matter?",
            answers=[f"It does, by 5.0 ± 0.3 %, as sentence {place} says." for place in range(7)],
            first=["It does, by 5.0 ± 0.3 %.", "It costs 3.1 ± 0.2 cents."],
            validity=["Every solution converged."],
            tables=ResultTables(
                comparison=comparison,
                flow=study.flow,
                verification=verification(),
                sensitivities=effects,
                tolerances=tolerances(),
                hand_formulas=by_hand(study.cases[0].name),
                budget=budget(),
                benchmarks=pd.DataFrame({"rule": ["flow"], "wall_time_s": [3.0]}),
                comparison_errors=comparison_table(shipped_comparisons()),
                onset=played.onset,
                onset_changes=played.onset_changes,
                tone=played.tone,
                tone_changes=played.tone_changes,
            ),
            playing=["It starts with less pressure.", "It sounds higher."],
            sounds=[BoreSounds(label=word, files={"soft": sound}) for word in CASES],
            figures=[*figures, *([measured] if measured else [])],
            labels=labels,
            provenance=MadeFrom(
                settings={"bore": {"backbore": {"end_diameter": "9.0 mm"}}, "vary": list(CASES)},
                sources={"versions": {"borestudy": "0.1.0"}},
            ),
        ),
    )
    return path
