"""The page of claims as a browser lays it out: nothing is cut, and no reader is kept out."""

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from axe_core_python.selenium import Axe

from borestudy.report.claims import ClaimsPage, write_claims_page

from .conftest import Page
from .test_page import BEYOND, PAPER, WIDTHS

Opener = Callable[..., Page]
CLAIMS = 30


@pytest.fixture(scope="session")
def claims(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page with every verdict, long words and a hostile one."""
    verdicts = ("agrees", "disagrees", "cannot be decided within the uncertainty")
    rows = [
        {
            "claim": number,
            "line": number + 1,
            "where": "<script>alert(1)</script>" if number == 3 else f"section {number}, by c/2π √",
            "case": f"entry_radius-{number}.00mm",
            "quantity": "pressure drop to throat end at 0.05 L/s",
            "written": "39331611 Pa·s/m³",
            "claimed": 39331611.0 + number,
            "tolerance": 2.5e5,
            "unit": "Pa·s/m³",
            "computed": 39331611.2577031,
            "uncertainty": 23640.7,
            "low": 39307970.5,
            "high": 39355251.9,
            "distance_percent": 0.0123456,
            "verdict": verdicts[number % 3],
            "cause": "the end correction left out" if number % 3 == 1 else None,
            "cause_explained": "c/2π √(S/(V l)), a resonator of cup and throat",
            "cause_value": 39331600.0,
            "other_causes": "air of another temperature (25 °C and not 20 °C)",
            "note": None,
        }
        for number in range(CLAIMS)
    ]
    path = tmp_path_factory.mktemp("claims") / "claims.html"
    write_claims_page(path, ClaimsPage("chapter", "Do its figures hold?", pd.DataFrame(rows)))
    return path


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_of_the_claims_is_wider_than_its_place(
    page: Opener, claims: Path, width: int
) -> None:
    opened = page(claims, width)
    opened.open_layers()
    assert opened.run(BEYOND) == [[], 0]
    shown = "return document.querySelector('.answer p').getBoundingClientRect().bottom;"
    assert opened.run(shown) < 400


def test_all_claims_are_printed_and_none_is_wider_than_paper(page: Opener, claims: Path) -> None:
    opened = page(claims, PAPER)
    opened.on_paper()
    assert opened.run(BEYOND) == [[], 0]
    rows = "return [...document.querySelectorAll('tbody tr')].filter(one => one.checkVisibility())"
    assert opened.run(f"{rows}.length;") == CLAIMS


def test_no_fault_of_the_claims_stands_in_the_way_of_any_reader(page: Opener, claims: Path) -> None:
    opened = page(claims)
    opened.open_layers()
    found = Axe().run(opened.browser)
    assert len(found["passes"]) > 10
    assert [one["id"] for one in found["violations"] if one["impact"] != "minor"] == []


def test_the_claims_ask_for_nothing_and_run_nothing(page: Opener, claims: Path) -> None:
    opened = page(claims)
    assert (opened.requested(), opened.console()) == ([], [])
    assert "<script>alert(1)</script>" in opened.run("return document.body.innerText;")
