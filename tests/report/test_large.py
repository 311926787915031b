"""A study of many bores is summed up: distributions, extremes, trends, and what is missing."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from borestudy.drawing.looks import Look, using
from borestudy.report.content import ResultTables, StudyReport
from borestudy.report.figures.collection import draw_all
from borestudy.report.large import tables
from borestudy.report.large.failures import (
    of_cases,
    unsolved_count,
    unsolved_rates,
    without_mesh,
)
from borestudy.report.large.figures import draw_many
from borestudy.report.large.overview import bounded, overview_of
from borestudy.report.large.summary import (
    ManyBores,
    drawn_cases,
    extremes,
    trend,
    variance_share,
)
from borestudy.report.page import write_report
from borestudy.report.tables.layout import Table
from borestudy.report.topic import FLOW
from borestudy.results.tables.files import verification_table

from ..results.large import FIRST, NO_MESH, POWERS, RATES, large_tables
from .conftest import make_study
from .test_layout import cut_marks, extents, has_data, kept_by, overlapping

THROATS, DEPTHS, ENDS = (3.5, 3.3, 3.7, 3.9, 4.1), (10.0, 9.0, 11.0), (9.0, 8.6, 9.4, 9.2)
UNMESHED, UNSOLVED = (7, 11, 12, 50, 51), (3, 59)
MANY_LOST = tuple(range(7, 1500, 3))


def made_up(
    throats: Sequence[float] = THROATS,
    depths: Sequence[float] = DEPTHS,
    ends: Sequence[float] = ENDS,
    unmeshed: Sequence[int] = (),
    unsolved: Sequence[int] = (),
) -> tuple[ManyBores, dict[str, pd.DataFrame]]:
    """Every combination of three dimensions, 60 by default, and the study's tables."""
    throat, depth, end = map(list, zip(*product(throats, depths, ends), strict=True))
    varied = {
        "throat_diameter_mm": throat, "cup_depth_mm": depth, "backbore_end_diameter_mm": end,
    }  # fmt: skip
    names = [f"bore-{number:05d}-" for number in range(len(throat))]
    made = large_tables(names, varied, unmeshed=unmeshed, unsolved=unsolved)
    return ManyBores(comparison=made["comparison"], varied=list(varied), topic=FLOW), made


def law(figure: str, throat: float, depth: float, end: float) -> float:
    """A figure of one bore by the law that the tables were made up with."""
    sizes = (throat / THROATS[0], depth / DEPTHS[0], end / ENDS[0])
    return float(FIRST[figure] * np.prod(np.power(sizes, POWERS[figure])))


def texts(table: Table | None) -> list[list[str]]:
    assert table is not None
    return [[cell.text for cell in row] for row in table.rows]


def test_the_bores_at_both_ends_are_those_of_the_laws() -> None:
    many, made = made_up()
    sizes = made["comparison"][list(many.varied)].to_numpy()
    found = {one.column: one for one in extremes(many.comparison, FLOW)}
    assert next(iter(found)) == "flow_resistance_kPa_s_per_L"  # the topic's first
    # a narrow throat, a deep cup and a narrow end resist most
    assert tuple(sizes[found["flow_resistance_kPa_s_per_L"].highest]) == (3.3, 11.0, 8.6)
    assert tuple(sizes[found["flow_resistance_kPa_s_per_L"].lowest]) == (4.1, 9.0, 9.4)
    assert tuple(sizes[found["resonance_Hz"].highest]) == (4.1, 9.0, 9.4)
    rows = texts(tables.printed_extremes(many, [f"bore {row}" for row in range(len(sizes))]))
    told = {row[0]: row for row in rows}["Highest first resonance, Hz"]
    assert told[1].startswith(f"{law('frequency', 4.1, 9.0, 9.4):.2f}")
    assert told[2] == f"bore {found['resonance_Hz'].highest}"


def test_a_bore_without_results_is_no_extreme() -> None:
    whole, _ = made_up()
    highest = {one.column: one.highest for one in extremes(whole.comparison, FLOW)}
    many, _ = made_up(unmeshed=[highest["resonance_Hz"]])
    others = {one.column: one.highest for one in extremes(many.comparison, FLOW)}
    assert others["resonance_Hz"] != highest["resonance_Hz"]


def test_bores_that_are_drawn_are_the_first_and_what_stands_out_each_called_for_it() -> None:
    many, _ = made_up()
    said = drawn_cases(many.comparison, FLOW)
    assert said[0] == ["first bore"]
    words = [word for row in said.values() for word in row]
    assert sorted(words[1:]) == sorted(
        f"{end} {name}"
        for end in ("lowest", "highest")
        for name in ("resistance", "resonance", "Q")
    )
    assert len(said) <= 8  # as many as a legend explains


def test_a_distribution_is_that_of_the_bores_that_have_the_figure() -> None:
    many, _ = made_up(unmeshed=UNMESHED)
    rows = {row[0]: row[1:] for row in texts(tables.printed_spread(many))}
    values = sorted(
        law("frequency", *sizes)
        for place, sizes in enumerate(product(THROATS, DEPTHS, ENDS))
        if place not in UNMESHED
    )
    count, least, *inner, greatest = rows["First resonance, Hz"]
    assert int(count) == len(values) == 55
    assert float(least) == pytest.approx(values[0], rel=1e-3)  # four digits are printed
    assert float(greatest) == pytest.approx(values[-1], rel=1e-3)
    assert float(inner[2]) == pytest.approx(values[27], rel=1e-3)  # the middle one of 55
    # of 54 steps between 55 values, the 2.5th percentile is 1.35 steps up
    assert float(inner[0]) == pytest.approx(values[1] + 0.35 * (values[2] - values[1]), rel=1e-3)


def test_shares_of_the_variance_of_a_sum_are_those_of_its_terms() -> None:
    """Var(a x) / Var(a x + b y), every combination of x and y having been computed."""
    x, y = np.meshgrid([0.0, 1.0, 4.0], [0.0, 2.0, 3.0, 7.0], indexing="ij")
    values = (2.0 * x + 0.5 * y).ravel()
    parts = np.var(2.0 * np.array([0.0, 1.0, 4.0])), np.var(0.5 * np.array([0.0, 2.0, 3.0, 7.0]))
    codes = [np.unique(each.ravel(), return_inverse=True)[1] for each in (x, y)]
    shares = [variance_share(values, code) for code in codes]
    assert shares == pytest.approx([part / sum(parts) for part in parts], abs=1e-12)
    assert sum(shares) == pytest.approx(1.0, abs=1e-12)
    assert np.isnan(variance_share(np.ones(5), np.arange(5)))


def test_the_dimension_that_decides_is_named_with_its_share() -> None:
    many, made = made_up()
    overview = overview_of(many, made["flow"], made["verification"], {}, 7)
    told = [line for line in overview.sentences if "flow resistance over all bores" in line]
    assert len(told) == 1
    assert told[0].startswith("Throat diameter goes with ")
    # the resistance goes as the fourth power of the throat, hardly with anything else
    assert float(told[0].split(" % ")[0].split()[-1]) > 98


def test_a_trend_has_the_median_of_the_other_dimensions_in_each_class() -> None:
    many, _ = made_up()
    found = trend(many.comparison, "cup_depth_mm", "resonance_Hz")
    assert found.x == pytest.approx(sorted(DEPTHS))
    assert found.counts.tolist() == [20, 20, 20]
    expected = [
        np.median([law("frequency", throat, depth, end) for throat in THROATS for end in ENDS])
        for depth in sorted(DEPTHS)
    ]
    assert found.percentiles[2] == pytest.approx(expected, rel=1e-12)
    assert (np.diff(found.percentiles, axis=0) > 0).all()


def test_many_values_of_a_dimension_are_put_into_classes_of_as_many_bores_each() -> None:
    table = pd.DataFrame({"length_mm": np.arange(1000.0), "resonance_Hz": np.arange(1000.0)})
    found = trend(table, "length_mm", "resonance_Hz")
    assert len(found.x) == 24
    assert found.counts.sum() == 1000
    assert set(found.counts) <= {41, 42}
    assert found.percentiles[2] == pytest.approx(found.x)  # the figure is the dimension


def test_a_dimension_in_words_keeps_the_order_of_the_study() -> None:
    words = ["square", "rounded 1 mm", "chamfered"] * 7
    table = pd.DataFrame({"entry": words, "resonance_Hz": np.tile([3.0, 1.0, 2.0], 7)})
    found = trend(table, "entry", "resonance_Hz")
    assert list(found.words) == words[:3]
    assert found.percentiles[2].tolist() == [3.0, 1.0, 2.0]
    assert found.share == pytest.approx(1.0)


def test_verdicts_are_counted_against_the_first_bore() -> None:
    many, _ = made_up(unmeshed=UNMESHED)
    rows = {row[0]: list(map(int, row[1:])) for row in texts(tables.printed_verdicts(many))}
    lower, higher, same, unknown = rows["Flow resistance"]
    sizes = list(product(THROATS, DEPTHS, ENDS))
    first = law("resistance", *sizes[0])
    changes = [100 * (law("resistance", *one) / first - 1) for one in sizes]
    known = [one for place, one in enumerate(changes) if place and place not in UNMESHED]
    assert lower == sum(one < -0.8 for one in known)
    assert higher == sum(one > 0.8 for one in known)
    assert same == sum(abs(one) <= 0.8 for one in known) > 0
    assert unknown == len(UNMESHED)


def test_reasons_that_differ_in_their_numbers_alone_are_one_the_most_frequent_first() -> None:
    reasons = [f"no triangle fits at {place}.5 mm" for place in range(5)] + ["out of memory"] * 2
    table = verification_table([], [(f"c{at}", "flow", why) for at, why in enumerate(reasons)])
    found = without_mesh(table)
    assert [(one.count, one.reason) for one in found] == [(5, reasons[0]), (2, "out of memory")]
    rows = texts(tables.printed_failures(found, {"c0": "the first"}))
    assert rows[0] == ["5", "flow", reasons[0], "the first; c1; c2 and 2 more"]
    assert rows[1][-1] == "c5; c6"
    assert of_cases(table).all()


def test_rates_without_a_solution_are_counted_apart_from_bores_without_a_mesh() -> None:
    _, made = made_up(unmeshed=UNMESHED, unsolved=UNSOLVED)
    lost = unsolved_rates(made["flow"])
    assert {rate: one.count for rate, one in lost.items()} == {RATES[-1]: len(UNSOLVED)}
    assert unsolved_count(made["flow"]) == len(UNSOLVED) + len(RATES) * len(UNMESHED)
    (missing,) = without_mesh(made["verification"])
    assert (missing.count, missing.reason) == (len(UNMESHED), NO_MESH)


def test_a_study_of_which_nothing_was_computed_is_told_so_and_draws_nothing(
    tmp_path: Path,
) -> None:
    many, made = made_up(unmeshed=range(60))
    assert draw_many(many, tmp_path) == []
    overview = overview_of(many, made["flow"], made["verification"], {}, 1)
    assert overview.unmeshed[0].startswith(f"60 without flow: {NO_MESH} (bore-00000-; ")
    assert overview.unsolved == "480 of 480 flow rates have no steady solution, and so no number."


def test_long_lists_of_sentences_say_how_many_more_there_are() -> None:
    assert bounded(["a"] * 30) == ["a"] * 30
    assert bounded(["a"] * 1031)[29:] == ["a", "1,001 more sentences are in answers.json."]


STUDIES = {
    "numbers": made_up(unmeshed=UNMESHED)[0],
    "no gaps": made_up()[0],
    "words": replace(
        made_up()[0],
        comparison=made_up()[0].comparison.assign(
            entry=["square", "chamfered 0.5 mm at 45 deg", "elliptical 2 mm x 1 mm"] * 20
        ),
        varied=["entry", "throat_diameter_mm"],
    ),
}


@pytest.mark.parametrize("name", STUDIES)
@pytest.mark.parametrize("look", [Look(), Look(84.0, 9.0, "serif")], ids=["page", "column"])
def test_nothing_on_the_figures_of_many_bores_runs_into_anything_else(
    tmp_path: Path, name: str, look: Look
) -> None:
    with using(look):
        drawn = kept_by(lambda: draw_many(STUDIES[name], tmp_path))
    assert [name.split(".")[1] for name in drawn] == ["distributions", "trends", "all-bores"]
    for drawing in drawn.values():
        assert overlapping(drawing) == []
        assert cut_marks(drawing) == []
        frame = drawing.bbox.padded(0.5)
        for text, box in extents(drawing):
            inside = frame.contains(*box.min) and frame.contains(*box.max)
            assert inside, text.get_text()
        assert all(has_data(axes) for axes in drawing.axes if axes.get_visible())


def test_drawn_data_of_many_bores_has_no_row_a_bore_and_counts_them_all(tmp_path: Path) -> None:
    many, _ = made_up(unmeshed=UNMESHED)
    records = {record.name: record for record in draw_many(many, tmp_path)}
    bars = pd.read_csv(records["distributions"].csv_path)
    assert set(bars.groupby("figure")["bores"].sum()) == {55}
    classes = pd.read_csv(records["trends"].csv_path)
    assert set(classes.groupby(["dimension", "figure"])["bores"].sum()) == {60}
    assert pd.read_csv(records["all-bores"].csv_path)["bores"].sum() == 55


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The pages of 60 and of 1840 bores, of which two are drawn one by one."""
    folder = tmp_path_factory.mktemp("pages")
    throats, depths = np.linspace(3.3, 4.1, 23), np.linspace(9, 13, 10)
    studies = [made_up(unmeshed=UNMESHED), made_up(throats, depths, ENDS * 2, MANY_LOST)]
    few = make_study(folder, fields=False)
    found = []
    with using(Look(formats=("svg",))):
        others = draw_all(folder, replace(few, many=studies[0][0]))
        for many, made in studies:
            of_all = {record.name: record for record in draw_many(many, folder)}
            checks = made["verification"]
            report = StudyReport(
                title="many",
                question="What does the throat do to the flow resistance?",
                answers=[],
                tables=ResultTables(
                    comparison=few.comparison, flow=few.flow, verification=checks[~of_cases(checks)]
                ),
                figures=[of_all.get(record.name, record) for record in others],
                overview=overview_of(many, made["flow"], checks, {}, 2),
            )
            write_report(folder / "report.html", report)
            found.append((folder / "report.html").read_text("utf-8"))
    return found


def test_the_page_does_not_grow_with_the_number_of_bores(pages: list[str]) -> None:
    """But for a few digits, and what the places of bars and bands take."""
    few, many = pages
    assert len(many) - len(few) < 60_000
    assert len({word for word in many.split() if "bore-0" in word}) < 20
    assert f"{len(MANY_LOST)} without flow" in many
    assert "Verification failed" not in many


def test_the_page_of_many_bores_shows_all_of_them_before_the_few(pages: list[str]) -> None:
    page = pages[0]
    assert page.index('id="overview"') < page.index('id="comparison"')
    first = page[: page.index('id="overview"')]
    assert 'id="figure-trends"' in first
    assert "5 without flow" in first
    assert 'id="figure-resistance-change"' not in page
    assert 'id="figure-bore-sections"' in page
