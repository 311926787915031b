"""Judged claims as a table and as a page."""

import re
from dataclasses import replace

import pandas as pd
import pytest

from borestudy.claims import claims_table, judge
from borestudy.report.claims import ClaimsPage, page_row, sentence, summary, write_claims_page
from borestudy.report.content import MadeFrom, ResultTables, StudyReport
from borestudy.report.page import write_report
from borestudy.results.tables.files import read_table, write_table

from ..documentation import undocumented, without_column
from ..results.conftest import make_case
from ..results.invented import SOFT, drops
from .conftest import LOSSLESS, bench_of, claim_of


@pytest.fixture
def table(bench):
    drop = sum(drops("first", "estimate", SOFT))
    claims = [
        claim_of("resonance", 823.0, 1.0, "Hz", where="page 1", written_unit="kHz",
                 written_factor=1e-3),
        claim_of("resonance", LOSSLESS[0], 1.0, "Hz", where="page 2"),
        claim_of("resonance", 700.0, 1.0, "Hz", where="page 3"),
        claim_of(f"pressure drop at {SOFT} L/s", drop, 1e-3 * drop, "Pa", where="page 4"),
    ]  # fmt: skip
    nothing = make_case("first", {}, frequencies=())
    judged = [judge(claim, bench) for claim in claims]
    lost = judge(replace(claims[0], where="page 5"), bench_of(nothing, nothing))
    return claims_table([*judged, lost])


def test_numbers_stand_in_the_claims_own_unit(table):
    row = table.iloc[0]
    assert (row["claimed"], row["tolerance"], row["computed"]) == pytest.approx(
        (0.823, 0.001, 0.823)
    )
    assert row["low"] < row["computed"] < row["high"]
    assert row["unit"] == "kHz"
    wrong = table.iloc[1]
    assert wrong["distance"] == pytest.approx(LOSSLESS[0] - 823.0)
    assert wrong["distance_percent"] == pytest.approx(100 * (LOSSLESS[0] / 823.0 - 1))
    assert wrong["cause_value"] == pytest.approx(LOSSLESS[0])


def test_a_causes_value_stands_in_the_claims_own_unit_too(bench):
    claim = claim_of("resonance", LOSSLESS[0], 1.0, "Hz", written_unit="kHz", written_factor=1e-3)
    (row,) = claims_table([judge(claim, bench)]).to_dict("records")
    assert row["cause_value"] == pytest.approx(1e-3 * LOSSLESS[0])


@pytest.mark.parametrize(("low", "high"), [(812.0, 824.0), (822.0, 834.0)])
def test_the_page_shows_the_uncertainty_of_the_side_that_is_less_sure(table, low, high):
    row = table.iloc[1].to_dict() | {"computed": 823.0, "low": low, "high": high}
    assert page_row(row, {})["computed"] == "823 ± 11 Hz"


def test_the_table_is_read_as_it_was_written(table, tmp_path):
    write_table(table, tmp_path / "claims.csv")
    again = read_table(tmp_path / "claims.csv")
    assert list(again["verdict"]) == list(table["verdict"])
    assert list(again["claimed"]) == pytest.approx(list(table["claimed"]))


def test_every_column_is_documented(table):
    assert undocumented("claims.csv", list(table.columns)) == []
    assert without_column("claims.csv", list(table.columns)) == []


def test_the_page_opens_with_how_many_agree_and_says_why_others_do_not(table):
    told = "Of 5 claims 1 agrees, 2 disagree and 2 cannot be decided within the uncertainty."
    assert summary(table) == told
    rows = [page_row(row, {"first": "square"}) for row in table.to_dict("records")]
    _, lossless, unknown, wide, lost = map(sentence, rows)
    assert lossless.startswith("page 2: resonance, square: 841 Hz claimed and 823.0")
    assert "Likely cause: a formula without losses" in lossless
    assert "which gives 841 Hz" in lossless
    assert "None of the causes that were tried gives the claimed value" in unknown
    assert "not known to within the claim’s tolerance" in wide
    assert "no resonance in the range" in lost


def test_one_claim_is_told_in_the_singular(table):
    assert summary(table.iloc[1:2]) == "Of the one claim 0 agree and 1 disagrees."


def test_the_page_is_one_file_with_every_claim_and_what_is_tried(table, tmp_path):
    page = tmp_path / "claims.html"
    write_claims_page(page, ClaimsPage("chapter", "Do they hold?", table, {"first": "square"}))
    text = page.read_text(encoding="utf-8")
    assert "Do they hold?" in text
    assert text.count("<tr>") == 1 + len(table)
    assert not re.search(r"<script|src=|url\(|@import", text)
    assert set(re.findall(r'href="([^"]+)"', text)) == {"claims.csv", "report.html", "#how"}
    assert 'id="how"' in text
    assert "rows are printed" not in text


def test_what_an_author_writes_stays_text(table, tmp_path):
    hostile = table.assign(where="<script>alert(1)</script>", quantity="<b>Q</b>")
    page = tmp_path / "claims.html"
    write_claims_page(page, ClaimsPage("<i>chapter</i>", "<img src=x>", hostile))
    text = page.read_text(encoding="utf-8")
    for tag in ("<script", "<b>", "<i>", "<img"):
        assert tag not in text
    assert "&lt;script&gt;" in text


def test_a_table_without_a_claim_is_no_error_of_the_page(table):
    assert summary(pd.DataFrame(table.iloc[:0])).startswith("Of 0 claims")


@pytest.mark.parametrize("claims", [None, "chapter-claims.csv"])
def test_the_report_leads_to_the_claims_where_the_study_has_some(claims, tmp_path):
    made = MadeFrom(settings={"claims": claims})
    report = StudyReport(
        title="chapter", question="Do they hold?", answers=["Yes."], tables=ResultTables(),
        provenance=made,
    )  # fmt: skip
    write_report(tmp_path / "report.html", report)
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert ('href="claims.html"' in text) == (claims is not None)
