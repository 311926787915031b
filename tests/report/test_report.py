"""The report stands alone, says what failed first, and prints no number it should not."""

import re
from collections import Counter
from dataclasses import fields
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.page import MadeFrom, ResultTables, StudyReport, write_report
from borestudy.report.tables.comparison import printed_comparisons
from borestudy.report.tables.layout import ROW_LIMIT, build_table
from borestudy.results.tables.files import verification_table

from .conftest import make_study
from .toleranced import tolerances

VOID = {"meta", "br", "hr", "img", "link", "input", "wbr"}


class Page(HTMLParser):
    """The page's elements, attributes and text, with a check that every element is closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        inside = self.open[-1] if self.open else ""
        if data.strip() and inside not in ("style", "title"):
            self.words.append(data.strip())


def checks(verdict: str = "pass") -> pd.DataFrame:
    return pd.DataFrame(
        [
            {
                "check": "closed pipe",
                "quantity": "resonance",
                "unit": "Hz",
                "computed": 812.0131,
                "reference": 812.0114,
                "deviation_percent": 0.0002,
                "tolerance_percent": 0.1,
                "verdict": verdict,
                "source": "Rayleigh 1896, see http://example.org",
            }
        ]
    )


def write(path: Path, study: PicturedStudy, **changes: Any) -> str:
    """Write a report, with changes to what it shows; tables are given by their names."""
    given = {"comparison": study.comparison, "flow": study.flow, "verification": checks()}
    names = {part.name for part in fields(ResultTables)}
    given |= {name: pd.DataFrame(changes.pop(name)) for name in names & set(changes)}
    settings = changes.pop("settings", {"flow": {"inlet": "uniform"}})
    content: dict[str, Any] = {
        "title": "entry-rounding",
        "question": "Does it matter?",
        "answers": ["It does, by 5.0 ± 0.3 %."],
        "tables": ResultTables(**given),
        "provenance": MadeFrom(settings=settings, sources={"borestudy": "0.1.0"}),
    }
    if "figures" not in changes:
        changes["figures"] = draw_all(path.parent / "figures", study)
    write_report(path, StudyReport(**{**content, **changes}))
    return path.read_text(encoding="utf-8")


def test_the_report_needs_nothing_outside_itself(study: PicturedStudy, tmp_path: Path) -> None:
    text = write(tmp_path / "report.html", study)
    page = Page(text)
    assert not page.open
    assert not {"script", "link", "iframe", "object"} & set(page.tags)
    targets = [value for _, name, value in page.attributes if name.endswith(("src", "href"))]
    assert targets
    # a file of the same folder is led to and not loaded
    files = {target for target in targets if not target.startswith(("#", "data:"))}
    assert files
    assert all(re.fullmatch(r"[a-z_]+\.csv", target) for target in files)
    assert {tag for tag, name, value in page.attributes if value in files} == {"a"}
    # The one address is the source a reader is told, as text.
    assert text.count("http://") == 1
    assert "https://" not in text
    assert "@import" not in text


def test_every_picture_has_words_and_every_table_a_caption(
    study: PicturedStudy, tmp_path: Path
) -> None:
    page = Page(write(tmp_path / "report.html", study))
    labels = [value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-label")]
    assert len(labels) == page.tags.count("svg") == page.tags.count("figure") == 11
    assert all(labels)
    assert page.tags.count("caption") == page.tags.count("table") >= 5


def test_no_identifier_occurs_twice_and_every_reference_is_answered(
    study: PicturedStudy, tmp_path: Path
) -> None:
    page = Page(write(tmp_path / "report.html", study))
    names = Counter(value for _, name, value in page.attributes if name == "id")
    assert [name for name, count in names.items() if count > 1] == []
    wanted = {
        value[1:]
        for _, name, value in page.attributes
        if name.endswith("href") and value.startswith("#")
    }
    assert wanted <= set(names)


def test_the_same_results_give_the_same_bytes_and_no_path(
    study: PicturedStudy, tmp_path: Path
) -> None:
    one = write(tmp_path / "one" / "report.html", study)
    other = write(tmp_path / "other" / "report.html", study)
    assert one == other
    assert str(tmp_path) not in one


@pytest.mark.parametrize("verdict", ["fail", "", "FAIL", "unclear"])
def test_a_failed_check_is_the_first_thing_said(
    study: PicturedStudy, tmp_path: Path, verdict: str
) -> None:
    page = Page(write(tmp_path / "report.html", study, verification=checks(verdict), figures=[]))
    assert page.words[0].startswith("Verification failed: 1 check did not meet")
    assert page.words[1] == "closed pipe: resonance"


def test_a_case_without_a_mesh_is_named_first_and_the_others_are_not_called_wrong(
    study: PicturedStudy, tmp_path: Path
) -> None:
    lost = verification_table([], [("throat-drill99", "sound", "no triangle fits")])
    table = pd.concat([checks(), lost], ignore_index=True)
    page = Page(write(tmp_path / "report.html", study, verification=table, figures=[]))
    assert page.words[0].startswith("Not every bore could be meshed.")
    assert page.words[1] == "case throat-drill99: solution for sound"
    assert not any("Do not use" in words for words in page.words)


def test_a_passed_verification_raises_no_alarm(study: PicturedStudy, tmp_path: Path) -> None:
    page = Page(write(tmp_path / "report.html", study, figures=[]))
    assert page.words[0] == "entry-rounding"
    assert not any("Verification failed" in words for words in page.words)


def test_no_verification_at_all_is_an_alarm_too(study: PicturedStudy, tmp_path: Path) -> None:
    page = Page(write(tmp_path / "report.html", study, verification=checks().iloc[:0], figures=[]))
    assert page.words[0].startswith("Verification missing")


def test_what_a_study_says_is_text_and_never_markup(tmp_path: Path) -> None:
    nasty = "<script>alert(1)</script> & \"x' <b>"
    study = make_study(tmp_path, (nasty, "plain"), fields=False)
    text = write(
        tmp_path / "report.html",
        study,
        title=nasty,
        question=nasty,
        answers=[nasty],
        tolerances=tolerances(nasty),
        validity=[nasty],
        settings={nasty: {nasty: nasty}},
    )
    page = Page(text)
    assert not page.open
    assert not {"script", "b"} & set(page.tags)
    assert "".join(page.words).count("<script>alert(1)</script>") >= 7


def test_what_did_not_converge_says_so_whatever_the_file_holds(tmp_path: Path) -> None:
    study = make_study(tmp_path, unsolved=1, fields=False)
    failed = ~study.flow["converged"]
    solved = ["pressure_drop_Pa", "pressure_drop_low_Pa", "pressure_drop_high_Pa"]
    study.flow.loc[failed, solved] = 777.7
    study.comparison.loc[1, "pressure_drop_Pa"] = 777.7
    page = Page(write(tmp_path / "report.html", study, figures=[]))
    assert not any("777" in words or "778" in words for words in page.words)
    # Flow table: drop and interval; its parts; the change and the verdict; three solutions beside
    # each other; comparison: drop and resistance.
    assert page.words.count("did not converge") == 11


def test_a_value_and_its_uncertainty_share_a_cell() -> None:
    table = build_table(
        pd.DataFrame({"case": ["a"], "drop_Pa": [895.3], "drop_Pa_uncertainty": [6.6]}), "c"
    )
    assert [cell.text for cell in table.columns] == ["Bore", "Drop, Pa"]
    assert [cell.text for cell in table.rows[0]] == ["a", "895 ± 7"]


def test_a_span_is_one_column_from_low_to_high() -> None:
    table = build_table(pd.DataFrame({"drop_low_Pa": [70.0], "drop_high_Pa": [140.0]}), "c")
    assert [cell.text for cell in table.columns] == ["Drop, low to high, Pa"]
    assert table.rows[0][0].text == "70 to 140"


def test_a_long_table_is_cut_and_says_where_the_rest_is() -> None:
    table = build_table(pd.DataFrame({"n": range(5000)}), "c", file_name="flow.csv")
    assert len(table.rows) == ROW_LIMIT
    assert table.note == f"The first {ROW_LIMIT} of 5000 rows; all are in flow.csv."


def test_sections_come_in_the_order_a_reader_needs(study: PicturedStudy, tmp_path: Path) -> None:
    text = write(
        tmp_path / "report.html",
        study,
        tolerances=tolerances(),
        benchmarks=[{"rule": "flow", "seconds": 3.0}],
    )
    order = [
        "Does it matter?",
        "5.0 ±\u00a00.3",
        'class="care"',
        'id="comparison"',
        'id="flow"',
        'id="resonance"',
        'id="tolerance"',
        'id="verification"',
        'id="uncertainty"',
        'id="methods"',
        'id="time"',
        'id="cautions"',
    ]
    places = [text.index(mark) for mark in order]
    assert places == sorted(places)


def test_the_first_case_is_not_compared_with_itself_and_every_drop_has_both_errors(
    study: PicturedStudy,
) -> None:
    table = study.comparison.copy()
    for stem in ("", "_uncertainty"):
        table[f"flow_resistance_change_percent{stem}"] = [0.0, -5.0]
    table["flow_resistance_change_verdict"] = ["no difference", "lower"]
    flowing = printed_comparisons(table, study.flow)[0]
    header = [cell.text for cell in flowing.columns]
    assert [row[header.index("Result")].text for row in flowing.rows] == ["the first bore", "lower"]
    assert not any("low to high" in name for name in header)
    both = " ± numerical ± model error"
    drop, resistance = (
        [row[header.index(name + both)].text for row in flowing.rows]
        for name in ("Pressure drop, Pa", "Flow resistance, kPa·s/L")
    )
    assert drop == ["800 ± 8 +160/−80", "752 ± 8 +150/−80"]
    assert resistance == ["4.00 ± 0.04 +0.8/−0.4", "3.76 ± 0.04 +0.8/−0.4"]


def test_a_case_is_called_by_its_words_and_found_by_its_name(
    study: PicturedStudy, tmp_path: Path
) -> None:
    labels = {case.name: f"the {case.label} one" for case in study.cases}
    page = Page(write(tmp_path / "report.html", study, labels=labels, figures=[]))
    assert page.words.count("the square one") > 4
    assert "".join(page.words).count(study.cases[0].name) == 1


def test_columns_that_only_the_file_holds_are_not_printed(study: PicturedStudy) -> None:
    table = study.comparison.assign(validity="good", pressure_gain_peak=2.0, length_mm=88.0)
    printed = [
        cell.text for part in printed_comparisons(table, study.flow) for cell in part.columns
    ]
    assert "Length, mm" in printed
    assert not {"Validity", "Pressure gain peak"} & set(printed)


def test_a_span_is_printed_from_its_smaller_to_its_greater_end() -> None:
    frame = pd.DataFrame({"change_low_percent": [15.7], "change_high_percent": [-12.6]})
    assert build_table(frame, "c").rows[0][0].text == "−12.6 to 15.7"
