"""No table is wider than its place, on a telephone, a screen or paper, as a browser lays it out."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pandas as pd
import pytest

from borestudy.report import page

from .conftest import make_study
from .test_layout import ENTRIES, SIZES, whole
from .toleranced import tolerances

BROWSER = next(filter(None, map(shutil.which, ("chromium", "google-chrome", "chrome"))), None)
pytestmark = pytest.mark.skipif(
    BROWSER is None, reason="no chromium on this machine, and 300 MB are too much to ask for it"
)
#: What is measured: how far each table, and the page, reach beyond their place, in pixels.
PROBE = """<script>addEventListener("load", () => {
  const beyond = element => element.scrollWidth - element.clientWidth;
  const found = [...document.querySelectorAll("table")].map(table => [
    table.caption.textContent.slice(0, 40),
    Math.max(table.getBoundingClientRect().width - table.parentElement.clientWidth,
             beyond(table.parentElement),
             ...[...table.querySelectorAll("th, td")].map(beyond)),
    getComputedStyle(table).display]);
  const page = [innerWidth, beyond(document.documentElement)];
  document.body.textContent = "RESULT" + JSON.stringify({page, found}) + "END";
});</script>"""
#: Width of a printed page between its margins: A4 less twice 20 mm, in CSS pixels.
PAPER = round((210 - 40) / 25.4 * 96)


def measured(page: Path, text: str, width: int) -> dict[str, list[object]]:
    """How a browser lays out a page in a frame of a width."""
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    inner = page.with_suffix(f".{width}.inner.html")
    inner.write_text(text.replace("</head>", PROBE + "</head>"), encoding="utf-8")
    page.write_text(
        f'<iframe src="{inner.name}" style="width:{width}px;height:900px;border:0"></iframe>'
        '<script>addEventListener("load", () => setTimeout(() => { document.title = "done"; '
        "document.body.textContent = frames[0].document.body.textContent; }, 200));</script>",
        encoding="utf-8",
    )
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files"]
    options += [f"--user-data-dir={page.parent / 'profile'}", "--virtual-time-budget=5000"]
    done = subprocess.run(
        [str(BROWSER), *options, "--dump-dom", page.as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    found = re.search(r"RESULT(.*)END", done.stdout, re.DOTALL)
    assert found is not None, done.stdout[-500:]
    return json.loads(found.group(1))  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def page_text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A report with long words for its cases, every kind of table and many columns."""
    folder = tmp_path_factory.mktemp("report")
    study = whole(make_study(folder, (*SIZES, *ENTRIES), unsolved=2, fields=False))
    verdict = "no difference beyond the numerical uncertainty"
    comparison = study.comparison.assign(
        solution="turbulent", rim_diameter_mm=16.2, throat_diameter_mm=3.6576, length_mm=88.0,
        cup_depth_mm=10.7, backbore_volume_cm3=2.406, throat_length_mm=4.839,
        resonance_change_cents=-123.456, resonance_change_cents_uncertainty=0.003,
        resonance_change_verdict=verdict, flow_resistance_change_percent=-25.48,
        flow_resistance_change_percent_uncertainty=0.11, flow_resistance_change_verdict=verdict,
        resonance_Q_change_percent=-1.0, resonance_Q_change_verdict=verdict,
        impedance_peak_change_percent=-20.4, impedance_peak_change_verdict=verdict,
    )  # fmt: skip
    checks = pd.DataFrame(
        {
            "check": ["straight throat of 3.66 mm with wall losses"],
            "quantity": ["attenuation at 100 Hz"], "unit": ["1/m"], "computed": [0.1779039],
            "reference": [0.1779045], "deviation_percent": [-3.5e-7], "tolerance_percent": [0.1],
            "verdict": ["pass"], "source": ["plane ends at their mean distance from the apex"],
        }
    )  # fmt: skip
    path = folder / "report.html"
    settings = {"bore": {"backbore": {"end_diameter": "9.0 mm"}}, "vary": list(SIZES)}
    report = page.StudyReport(
        title="a study",
        question="Does it matter?",
        answers=["It does."],
        tables=page.ResultTables(
            comparison=comparison, flow=study.flow, verification=checks, tolerances=tolerances()
        ),
        labels={case.name: case.label for case in study.cases},
        provenance=page.MadeFrom(settings=settings),
    )
    page.write_report(path, report)
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("width", [400, 800, 1300])
def test_no_table_is_wider_than_its_place(page_text: str, width: int, tmp_path: Path) -> None:
    found = measured(tmp_path / "page.html", page_text, width)
    assert found["page"] == [width, 0]
    assert len(found["found"]) >= 8
    assert [table for table in found["found"] if table[1] > 1] == []


def test_no_table_is_wider_than_paper(page_text: str, tmp_path: Path) -> None:
    printed = page_text.replace("@media screen", "@media not all").replace(
        "@media print", "@media all"
    )
    found = measured(tmp_path / "page.html", printed, PAPER)
    assert [table for table in found["found"] if table[1] > 1] == []


def test_a_wide_screen_shows_tables_and_a_telephone_lists(page_text: str, tmp_path: Path) -> None:
    displays = {
        width: [table[2] for table in measured(tmp_path / "page.html", page_text, width)["found"]]
        for width in (400, 1300)
    }
    assert displays[1300].count("block") <= 1
    assert displays[400].count("block") > len(displays[400]) / 2
