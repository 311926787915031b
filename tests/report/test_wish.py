"""What the report says of a wish, and the way to it as a figure."""

from dataclasses import replace

import pytest

from borestudy.drawing.style import styled
from borestudy.records import read_record, write_record
from borestudy.report.figures.wish import draw_wish, figure_of
from borestudy.report.page import ResultTables, StudyReport, write_report
from borestudy.report.sentences.wish import wish_answer, wish_sentences, wish_work
from borestudy.report.tables.wish import wish_tables
from borestudy.results.tables.wishes import COLUMNS, wishes_table
from borestudy.results.wishes import (
    Combination,
    FreeRange,
    InTheWay,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    SolvedBore,
    WishedFor,
    WishResult,
    verdict,
)

from .test_layout import SLACK, cut_marks, extents, overlapping

RESISTANCE = "flow resistance at 0.2 L/s"
FREE = (
    FreeRange(key="throat.diameter", label="throat diameter", unit="mm", start=3.6576, low=3.5687,
              high=3.9878, sizes="drill", determined_within=0.004),
    FreeRange(key="cup.shape", label="cup shape", unit="", start=0.6, low=0.4, high=0.8,
              determined_within=0.02),
)  # fmt: skip
WISHED = (
    WishedFor(quantity="resonance", kind="change", written="+15 cents", target=15.0, within=1.0,
              scale="cents"),
    WishedFor(quantity=RESISTANCE, kind="change", written="-10 %", target=-10.0, within=0.5,
              scale="percent"),
)  # fmt: skip


def quantity(name, change, wish="", miss=None, error=0.1, within=1.0, scale="percent", model=0.0):
    return NewQuantity(
        quantity=name, before=100.0, after=100 + change, after_uncertainty=0.2, change=change,
        numerical=0.1, model=model, unit="Hz", scale=scale, wish=wish, miss=miss,
        miss_uncertainty=error, within=within if wish else None,
        verdict=verdict(miss, error, within) if wish else "",
    )  # fmt: skip


def bore(name, solve, miss=0.2, in_the_way=()):
    dimensions = (
        NewDimension(key="throat.diameter", label="throat diameter", unit="mm", value=3.7338,
                     change=0.0762, tool="drill 26"),
        NewDimension(key="cup.shape", label="cup shape", unit="", value=0.5, change=-0.1),
    )  # fmt: skip
    quantities = (
        quantity("resonance", 15 + miss, "+15 cents", miss, scale="cents"),
        quantity(RESISTANCE, -10.1, "-10 %", -0.1, error=2.0, within=0.5, model=2.0),
        quantity("cup volume", -1.5),
    )
    met = abs(miss) <= 1
    return ReturnedBore(name=name, solve=solve, met=met, misfit=0.1, dimensions=dimensions,
                        quantities=quantities, in_the_way=in_the_way)  # fmt: skip


@pytest.fixture
def found():
    path = tuple(
        SolvedBore(
            dimensions={"throat.diameter": 3.6576 + 0.02 * n, "cup.shape": 0.6 - 0.02 * n},
            figures={"resonance": 3.0 * n, RESISTANCE: None if n == 3 else -2.0 * n},
            misfit=200.0 / (n + 1),
            tool_sizes=("throat.diameter",) if n >= 4 else (),
        )
        for n in range(6)
    )
    return WishResult(
        wished=WISHED, free=FREE, path=path, returned=(bore("bore 1", 5), bore("bore 2", 6, 1.5)),
        targets={"resonance": 15.0, RESISTANCE: -10.0}, stopped="no step promises more",
    )  # fmt: skip


def test_a_wish_that_is_met_is_said_so_with_drill_and_millimetres_and_its_doubt(found):
    first, second, third = wish_sentences(found)
    assert first.startswith(
        "The wish (the resonance +15 cents and the flow resistance at 0.2 L/s −10 %) is met with "
        "throat diameter drill 26 (3.734 mm) and cup shape 0.5"
    )
    assert first.endswith(f"for the {RESISTANCE} the uncertainty could turn that round.")
    assert second.startswith("Bore 2 comes next")
    assert "the resonance is 1.50 ± 0.10 cents above what is wished" in second
    assert third == (
        "The wish determines the throat diameter to 0.004 mm and the cup shape to 0.02, as far as "
        "its tolerances leave open."
    )


def test_a_wish_that_is_not_met_says_by_how_much_and_what_stands_in_the_way(found):
    way = (
        InTheWay(kind="high", names=("throat.diameter",), worth=0.5, at=3.9878),
        InTheWay(kind="against", names=("resonance", RESISTANCE), worth=0.3),
        InTheWay(kind="kept", names=("cup volume",), worth=0.2),
        InTheWay(kind="wall", names=(), worth=0.1, at=17.04),
    )
    missed = replace(found, returned=(bore("bore 1", 5, -4.0, way),), existing=True)
    first, second, *_, last = wish_sentences(missed)
    assert "cannot be met within its limits" in first
    assert "the resonance is 4.00 ± 0.10 cents below what is wished" in first
    assert second == (
        "In the way: the throat diameter is at its upper limit, 3.99 mm; the wishes for the "
        f"resonance and for the {RESISTANCE} pull against one another; the cup volume must be "
        "kept, and is at its bound; metal would have to be put back about 17 mm from the rim plane."
    )
    assert last.startswith("The bore exists already")


def test_the_answer_of_a_wish_is_what_became_of_it_in_short(found):
    assert wish_answer(found).startswith(
        "The wish is met with throat diameter drill 26 (3.734 mm) and cup shape 0.5; for the"
    )
    assert wish_answer(found).endswith(" What follows is of the bore as it is now.")
    none = replace(found, returned=(), path=(), stopped="no bore within the limits")
    assert wish_answer(none) == "The wish has no answer: no bore within the limits."


def test_a_miss_that_is_less_than_its_uncertainty_is_no_verdict(found):
    near = bore("bore 1", 5)
    off = quantity(RESISTANCE, -8.0, "-10 %", 2.0, error=2.0, within=0.5, model=2.0)
    unsure = replace(near, met=False, quantities=(near.quantities[0], off))
    (first, *_) = wish_sentences(replace(found, returned=(unsure,)))
    assert first.startswith("Whether the wish (")
    assert f"the {RESISTANCE} is 2 ± 2 % above what is wished, within the uncertainty" in first
    assert "cannot be met" not in first
    sure = quantity("resonance", 18.0, "+15 cents", 3.0, error=0.1, scale="cents")
    (first, *_) = wish_sentences(
        replace(found, returned=(replace(unsure, quantities=(sure, off)),))
    )
    assert "cannot be met within its limits" in first


def test_a_miss_is_told_with_as_many_digits_as_a_maker_reads(found):
    near = bore("bore 1", 5)
    off = quantity("resonance", 16.14457, "+15 cents", 1.14457, error=0.00015, scale="cents")
    missed = replace(near, met=False, quantities=(off, near.quantities[1]))
    assert "the resonance is 1.14 cents above" in wish_sentences(
        replace(found, returned=(missed,))
    )[0]  # fmt: skip


def test_a_wish_that_is_met_only_off_the_tool_sizes_says_so(found):
    figures = {"resonance": 15.5, RESISTANCE: -10.2}
    path = (*found.path[:4], replace(found.path[4], figures=figures, tool_sizes=()), found.path[5])
    missed = replace(found, path=path, returned=(bore("bore 1", 6, -4.0),))
    first, second, *_ = wish_sentences(missed)
    assert "cannot be met on its tool sizes" in first
    assert second == (
        "Off the tool sizes it is met, as by solve 5: throat diameter 3.738 mm (0.1471 in) and "
        "cup shape 0.52."
    )


def test_what_a_wish_leaves_open_is_said_in_the_words_of_the_shop(found):
    free = tuple(
        FreeRange(key=key, label=label, unit="mm", start=5.0, low=4.0, high=6.0)
        for key, label in (("throat.length", "throat length"), ("cup.depth", "cup depth"))
    )
    changes = {"throat.length": 1.0, "cup.depth": -0.61}
    opened = replace(found, free=free, undetermined=(Combination(changes=changes),))
    assert (
        "The wish does not determine the throat length: 1 mm longer with the cup depth 0.61 mm "
        "less deep does the same."
    ) in wish_sentences(opened)
    alone = replace(found, free=free, undetermined=(Combination(changes={"cup.depth": 1.0}),))
    assert "The wish does not determine the cup depth, which does nothing to it." in (
        wish_sentences(alone)
    )


def test_a_wish_without_a_bore_says_why(found):
    none = replace(found, returned=(), path=(), stopped="no bore within the limits")
    assert wish_sentences(none) == ["The wish has no answer: no bore within the limits."]
    assert wish_work(none) == ""
    assert wish_tables(none) == []
    assert list(wishes_table(none)) == list(COLUMNS)


def test_the_tables_give_sizes_in_both_units_with_the_drill_and_changes_with_both_errors(found):
    sizes, met, costs = wish_tables(found)
    assert [cell.text for cell in sizes.rows[0]] == [
        "throat diameter", "3.658 (0.1440)", "3.734 (0.1470), drill 26", "3.734 (0.1470), drill 26",
    ]  # fmt: skip
    assert [cell.text for cell in met.rows[0]][:4] == [
        "resonance", "+15 cents", "+15.20 ± 0.10 cents", "met",
    ]  # fmt: skip
    assert met.rows[0][5].text == "not met"
    assert met.rows[0][5].look == "bad"
    assert met.rows[1][3].look == ""
    assert met.rows[1][1].text == "−10 %"
    assert met.rows[1][2].text == "−10.10 ± 0.10 ± 2 %"
    assert [row[0].text for row in costs.rows] == ["cup volume"]


def test_the_record_and_the_table_keep_everything(found, tmp_path):
    write_record(tmp_path / "wish.json", found)
    assert read_record(tmp_path / "wish.json", WishResult) == found
    table = wishes_table(found)
    assert list(table) == list(COLUMNS)
    throat = table[(table["bore"] == "bore 1") & (table["name"] == "throat.diameter")].iloc[0]
    assert throat["tool"] == "drill 26"
    assert throat["after_in"] == pytest.approx(0.147)
    resistance = table[(table["bore"] == "bore 1") & (table["name"] == RESISTANCE)].iloc[0]
    assert resistance["change_uncertainty"] == pytest.approx((0.1**2 + 2.0**2) ** 0.5)


def test_the_way_is_drawn_with_a_panel_for_each_wish_and_dimension(found, tmp_path):
    record = draw_wish(found, tmp_path)
    drawn = record.svg_path.read_text(encoding="utf-8")
    for words in ("resonance, cents", "throat diameter, mm", "cup shape"):
        assert words in drawn
    assert "6 solves, and the returned bores among them: 2." in record.alt
    assert draw_wish(replace(found, path=found.path[:1]), tmp_path) is None


@pytest.mark.usefixtures("look")
def test_no_words_of_the_way_run_into_others_or_off_the_figure(found):
    resonances = tuple(
        replace(WISHED[0], quantity=f"peak {number} impedance", target=0.0) for number in (4, 8)
    )
    long = "pressure drop to throat end at 0.2 L/s"
    wished = (*WISHED, *resonances, replace(WISHED[1], quantity=long))
    path = tuple(
        replace(one, figures={each.quantity: -0.001 * n * n for each in wished})
        for n, one in enumerate(found.path * 2)
    )
    entry = FreeRange(key="throat.entry.radius", label="radius of throat entry", unit="mm",
                      start=0.5, low=0.1, high=2.0)  # fmt: skip
    path = tuple(
        replace(one, dimensions={**one.dimensions, entry.key: 0.5 + n / 10})
        for n, one in enumerate(path)
    )
    every = replace(found, wished=wished, free=(*FREE, entry), path=path,
                    targets={one.quantity: one.target for one in wished})  # fmt: skip
    for one in (found, every):
        drawing = styled(figure_of)(one)
        assert overlapping(drawing) == []
        assert cut_marks(drawing) == []
        frame = drawing.bbox.padded(SLACK)
        for text, box in extents(drawing):
            inside = frame.contains(*box.min) and frame.contains(*box.max)
            assert inside, text.get_text()


def test_the_report_has_a_section_of_the_wish_with_tables_and_figure(found, tmp_path):
    picture = draw_wish(found, tmp_path)
    report = StudyReport(title="wish", question="Which drill?", answers=["An answer."],
                         tables=ResultTables(), figures=[picture], wish=found)  # fmt: skip
    write_report(tmp_path / "report.html", report)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert '<details class="layer" id="wish">' in page
    assert '<figure id="figure-wish">' in page
    assert "drill 26" in page
    write_report(tmp_path / "without.html", replace(report, wish=None, figures=[]))
    assert "From the wish" not in (tmp_path / "without.html").read_text(encoding="utf-8")


def test_the_way_to_the_wish_is_the_picture_of_the_first_screen(found, tmp_path):
    picture = draw_wish(found, tmp_path)
    report = StudyReport(title="wish", question="Which drill?", answers=["An answer."],
                         tables=ResultTables(), figures=[picture], wish=found)  # fmt: skip
    write_report(tmp_path / "report.html", report)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert page.index('class="first"') < page.index("figure-wish") < page.index("<details")
