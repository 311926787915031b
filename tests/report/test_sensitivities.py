"""The sensitivities' figures, sentences and table show the rows' numbers, each at its own place."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from borestudy.drawing import style
from borestudy.report.effects import effects_of, peaks_of, signed
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.sensitivities import (
    BARS,
    LESS,
    MORE,
    draw_ranked,
    printed,
    shown_peaks,
)
from borestudy.report.figures.sensitivities_along import along_axis, draw_along
from borestudy.report.sentences.dimensions import dimension_sentences
from borestudy.report.tables.dimensions import STRONGEST, printed_dimensions

from .conftest import with_acoustics
from .sensitive import PEAKS, RATES, sensitivities
from .test_layout import extents, overlapping
from .test_report import Page, write

RATE = RATES[-1]
STATIONS = (0.0, 1.0, 2.5, 5.0, 5.0, 7.0, 12.0, 20.0)
#: Title of a panel: quantity in the table.
PANELS = {
    "first resonance, cents": "resonance",
    "Q of the first resonance, %": "resonance Q",
    "height of its impedance peak, %": "resonance impedance",
    "flow resistance, %": "flow resistance at 0.2 L/s",
    "slope of the pressure drop, %": "slope of pressure drop at 0.2 L/s",
    "cup volume, %": "cup volume",
}


@pytest.fixture
def sensitive(study: PicturedStudy) -> PicturedStudy:
    return replace(study, sensitivities=sensitivities([case.name for case in study.cases]))


def panels(drawing: Figure) -> dict[str, Axes]:
    return {axes.get_title(loc="left"): axes for axes in drawing.axes if axes.get_visible()}


def bars(axes: Axes) -> list[Any]:
    """Bars from the top down."""
    found = [bar for container in axes.containers for bar in container]  # type: ignore[attr-defined]
    return sorted(found, key=lambda bar: bar.get_y())


def rows_of(table: pd.DataFrame, quantity: str) -> pd.DataFrame:
    """The first case's rows of a quantity, by rank, with what is no length by size behind them."""
    rows = table[(table["case"] == table["case"].iloc[0]) & (table["quantity"] == quantity)]
    lengths = rows[rows["dimension_unit"] == "mm"].sort_values("rank")
    others = rows[rows["dimension_unit"] != "mm"].sort_values("effect_of_1_percent", key=abs)
    rows = pd.concat([lengths, others[::-1]])
    effect = rows["effect_of_0.001_in"].fillna(rows["effect_of_1_percent"])
    return rows.assign(effect=effect)


def test_bars_have_the_rows_effects_in_the_order_of_their_ranks(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    found = panels(drawn[0])
    assert list(found) == list(PANELS)
    for title, axes in found.items():
        rows = rows_of(sensitive.sensitivities, PANELS[title])
        widths = [bar.get_width() for bar in bars(axes)]
        np.testing.assert_allclose(widths, rows["effect"], err_msg=title)
        words = [text.get_text().replace("\n", " ") for text in axes.get_yticklabels()]
        of_length = rows["dimension_unit"] == "mm"
        assert words == [*(rows["dimension_label"] + np.where(of_length, "", " (1 %)"))]


def test_a_bars_sign_is_its_direction_its_colour_and_printed(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    for title, axes in panels(drawn[0]).items():
        effects = rows_of(sensitive.sensitivities, PANELS[title])["effect"]
        figures = [text.get_text() for text in axes.texts][:-1]
        largest = abs(effects).max()
        for effect, bar, text in zip(effects, bars(axes), figures, strict=True):
            if effect == 0:
                assert text == "0"
                continue
            colour = style.matplotlib.colors.to_hex(
                bar.get_edgecolor() if bar.get_hatch() else bar.get_facecolor()
            )
            assert colour.upper() == (MORE if effect > 0 else LESS)
            sign = "+" if effect > 0 else "−"
            assert sign in text or (text == "≈ 0" and abs(effect) < 0.005 * abs(effects).max())
            number = float(text.removeprefix("≈ ").replace("−", "-"))
            # two digits, of which the last may be below three digits of the largest one
            assert number == pytest.approx(effect, rel=0.05, abs=0.005 * largest)


def test_a_bars_figure_stands_beyond_its_uncertainty_and_within_the_panel(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    boxes = {text: box for text, box in extents(drawn[0])}
    for title, axes in panels(drawn[0]).items():
        effects = rows_of(sensitive.sensitivities, PANELS[title])["effect"]
        for effect, text in zip(effects, axes.texts, strict=False):
            end = axes.transData.transform((effect + 0.03 * effect, 0))[0]
            box = boxes[text]
            assert box.x0 > end if effect >= 0 else box.x1 < end, text.get_text()
            assert axes.bbox.x0 - 1 < box.x0 < box.x1 < axes.bbox.x1 + 1, text.get_text()


def test_lengths_come_first_and_by_rank_whatever_the_rows_order() -> None:
    table = sensitivities(["a"]).sample(frac=1, random_state=5)
    found = effects_of(table, "resonance")
    assert found is not None
    assert [one.key for one in found.effects] == [
        "throat.diameter", "cup.diameter", "cup.depth", "throat.length", "length",
        "throat.entry.radius", "backbore.end_diameter", "cup.shape", "backbore.taper",
    ]  # fmt: skip
    assert [one.key for one in found.lengths] == [one.key for one in found.effects[:7]]


def test_a_pure_number_is_hatched_below_the_lengths_and_told_by_one_per_cent(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = draw_ranked(sensitive, tmp_path)
    assert record is not None
    axes = panels(drawn[0])["first resonance, cents"]
    assert [bool(bar.get_hatch()) for bar in bars(axes)] == [False] * 7 + [True] * 2
    assert "one per cent of the whole range" in record.caption


def spans(axes: Axes, across: bool = True) -> list[tuple[float, float]]:
    """Ends of the bands of noise."""
    drawn = [patch for patch in axes.patches if patch.get_alpha() is not None]
    boxes = [patch.get_path().get_extents(patch.get_patch_transform()) for patch in drawn]
    ends = [box.intervalx if across else box.intervaly for box in boxes]
    return [(float(low), float(high)) for low, high in ends]


def test_the_band_is_the_quantitys_noise_floor_and_is_told(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    for title, axes in panels(drawn[0]).items():
        noise = rows_of(sensitive.sensitivities, PANELS[title])["noise_floor"].iloc[0]
        words = [text.get_text() for text in axes.texts][-1]
        if noise == 0:
            assert spans(axes) == []
            assert words == "no numerical noise"
        else:
            np.testing.assert_allclose(spans(axes), [(-noise, noise)])
            assert f"noise floor ±{noise:g} {title.split(', ')[1]}" in words


def test_the_effects_uncertainty_is_a_line_on_its_bar(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    axes = panels(drawn[0])["flow resistance, %"]
    effects = rows_of(sensitive.sensitivities, PANELS["flow resistance, %"])["effect"]
    lines = [line.get_xdata() for line in axes.lines if len(set(line.get_ydata())) == 1]
    across = [np.sort(line) for line in lines if tuple(line) != (0, 1)]
    known = effects[effects != 0]
    np.testing.assert_allclose(
        across, np.column_stack([known - 0.03 * abs(known), known + 0.03 * abs(known)])
    )


@pytest.mark.parametrize(
    "column", ["effect_of_0.001_in", "effect_of_1_percent", "noise_floor", "rank"]
)
def test_a_column_that_changed_places_with_another_is_seen(
    column: str, sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_ranked(sensitive, tmp_path)
    table = sensitive.sensitivities
    backwards = table["rank"].max() - table["rank"]
    other = {"rank": backwards, "noise_floor": table["effect_of_0.001_in"].abs()}
    swapped = table.assign(**{column: other.get(column, table["effect_of_0.01_mm"])})
    if column == "effect_of_1_percent":
        swapped[column] = 3 * table[column]
    draw_ranked(replace(sensitive, sensitivities=swapped), tmp_path)
    first, second = (
        [
            (title, [round(bar.get_width(), 9) for bar in bars(axes)], spans(axes))
            for title, axes in panels(drawing).items()
        ]
        for drawing in drawn
    )
    assert first != second


def test_another_case_and_another_rate_are_not_drawn(
    sensitive: PicturedStudy, tmp_path: Path
) -> None:
    table = sensitive.sensitivities
    record = draw_ranked(sensitive, tmp_path)
    assert record is not None
    first = record.svg_path.read_bytes()
    mine = table["case"] == table["case"].iloc[0]
    soft = table["flow_rate_L_per_s"] == RATES[0]
    draw_ranked(replace(sensitive, sensitivities=table[mine & ~soft]), tmp_path)
    assert record.svg_path.read_bytes() == first


def test_an_air_column_has_panels_of_four_peaks_on_one_page(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    names = [case.name for case in study.cases]
    draw_ranked(replace(study, sensitivities=sensitivities(names, air_column=True)), tmp_path)
    titles = [f"peak {number}, cents" for number in (2, 4, 6, 8)]
    assert [title for title in panels(drawn[0]) if title.startswith("peak")] == titles
    assert drawn[0].get_figheight() * 25.4 < 267  # between the margins of a printed page
    assert overlapping(drawn[0]) == []
    assert peaks_of(sensitivities(names, air_column=True)) == list(PEAKS)
    assert shown_peaks([2, 3, 4, 5, 7]) == [2, 3, 5, 7]
    assert shown_peaks([2, 4]) == [2, 4]


def test_rows_without_a_number_leave_no_bar_and_no_panel(
    sensitive: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = sensitive.sensitivities
    lost = table["quantity"].str.startswith("flow resistance")
    gone = table["dimension"] == "throat.diameter"
    blank = ["effect_of_0.001_in", "effect_of_1_percent", "slope_per_unit", "rank"]
    table.loc[gone, blank] = np.nan
    reason = pd.DataFrame(
        {"case": [table["case"].iloc[0]], "quantity": ["flow resistance at 0.2 L/s"],
         "note": ["no number: did not converge"]}
    )  # fmt: skip
    short = pd.concat([table[~lost], reason], ignore_index=True)
    draw_ranked(replace(sensitive, sensitivities=short), tmp_path)
    found = panels(drawn[0])
    assert set(found) == set(PANELS) - {"flow resistance, %"}
    for axes in found.values():
        words = [text.get_text() for text in axes.get_yticklabels()]
        assert words
        assert "throat diameter" not in words
    sentences = " ".join(dimension_sentences(short, RATE))
    assert "rim diameter" in sentences
    assert "flow resistance" not in sentences


def test_nothing_known_is_no_figure_no_sentence_and_no_table(
    study: PicturedStudy, sensitive: PicturedStudy, tmp_path: Path
) -> None:
    empty = sensitive.sensitivities.assign(
        **{"effect_of_0.001_in": np.nan, "effect_of_1_percent": np.nan}
    )
    for one in (study, replace(sensitive, sensitivities=empty)):
        assert draw_ranked(one, tmp_path) is None
        assert draw_along(one, tmp_path) is None
        assert dimension_sentences(one.sensitivities, RATE) == []
        assert printed_dimensions(one.sensitivities, RATE) is None


def test_only_the_largest_effects_are_shown_where_there_are_many_and_it_is_said(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    many = sensitivities([study.cases[0].name], stations=np.linspace(0, 20, 33).tolist())
    record = draw_ranked(replace(study, sensitivities=many), tmp_path)
    assert record is not None
    assert f"the {BARS} largest effects" in record.caption
    assert "the diameter by 0.002 in" in record.caption
    shown = [bar.get_width() for bar in bars(panels(drawn[0])["first resonance, cents"])]
    of_quantity = many[many["quantity"] == "resonance"]["effect_of_0.001_in"]
    largest = of_quantity.iloc[np.argsort(-of_quantity.abs().to_numpy())][:BARS]
    np.testing.assert_allclose(shown, largest)


@pytest.fixture
def measured(study: PicturedStudy) -> PicturedStudy:
    names = [case.name for case in study.cases]
    return replace(study, sensitivities=sensitivities(names, stations=STATIONS))


def test_areas_along_the_axis_are_the_rows_effects_of_half_a_thousandth_on_the_radius(
    measured: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_along(measured, tmp_path)
    section, *below = drawn[0].axes
    quantities = ("resonance", "flow resistance at 0.2 L/s")
    for axes, quantity in zip(below, quantities, strict=True):
        rows = measured.sensitivities
        rows = rows[(rows["case"] == rows["case"].iloc[0]) & (rows["quantity"] == quantity)]
        keys = [f"station {number}" for number in range(1, len(STATIONS) + 1)]
        effects = rows.set_index("dimension")["effect_of_0.001_in"][keys]
        (container,) = axes.containers
        areas = [bar.get_width() * bar.get_height() for bar in container]  # mm times per 10 mm
        np.testing.assert_allclose(np.array(areas) / 10, effects / 2)
        starts = [bar.get_x() for bar in container]
        np.testing.assert_allclose(starts, [0, 0.5, 1.75, 3.75, 5, 6, 9.5, 16])
        noise = rows["noise_floor"].iloc[0]
        np.testing.assert_allclose(spans(axes, across=False), [(-noise, noise)])
        for bar in container:
            colour = style.matplotlib.colors.to_hex(bar.get_facecolor()).upper()
            assert colour == (MORE if bar.get_height() > 0 else LESS)
    wall = measured.cases[0].outline
    np.testing.assert_array_equal(section.lines[0].get_ydata(), wall.radius_mm)
    np.testing.assert_array_equal(section.lines[0].get_xdata(), wall.position_mm)
    assert section.get_xlim() == below[0].get_xlim() == (0, 20)
    drawn[0].draw_without_rendering()
    low, high = section.get_ylim()
    across, up = section.bbox.width / 20, section.bbox.height / (high - low)
    assert across == pytest.approx(up)  # true to scale
    assert low < -4 < 4 < high


def test_an_instruments_peaks_are_drawn_along_the_axis_too(
    study: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    table = sensitivities([study.cases[0].name], stations=STATIONS, air_column=True)
    record = draw_along(replace(study, sensitivities=table), tmp_path)
    assert record is not None
    titles = [axes.get_title(loc="left") for axes in drawn[0].axes[1:]]
    assert titles == ["first resonance", "peak 4", "peak 8", "flow resistance at 0.2 L/s"]
    assert "first resonance, peak 4, peak 8 and flow resistance at 0.2 L/s" in record.caption
    effects = effects_of(table, "peak 8")
    assert effects is not None
    (container,) = drawn[0].axes[3].containers
    np.testing.assert_allclose([bar.get_height() for bar in container], along_axis(effects, 20)[1])
    assert drawn[0].get_figheight() * 25.4 < 267


def test_a_bore_of_dimensions_has_no_figure_along_its_axis(
    sensitive: PicturedStudy, tmp_path: Path
) -> None:
    assert draw_along(sensitive, tmp_path) is None


def test_a_station_without_a_stretch_of_its_own_has_no_height() -> None:
    table = sensitivities(["a"], stations=(0.0, 5.0, 5.0, 5.0, 10.0))
    found = effects_of(table, "resonance")
    assert found is not None
    stretches, effect = along_axis(found, 10.0)
    assert stretches[2].tolist() == [5.0, 5.0]
    assert effect[2] == 0
    assert np.isfinite(effect).all()


def test_the_sentences_name_the_largest_effects_with_sign_and_uncertainty() -> None:
    first, *rest = dimension_sentences(sensitivities(["a", "b"]), RATE)
    assert first == (
        "For the first resonance and the flow resistance at 0.2 L/s the throat diameter matters "
        "most: 0.001 in more on it raises the first resonance by 5.87 ± 0.18 cents and lowers the "
        "flow resistance at 0.2 L/s by 3.16 ± 0.09 %."
    )
    assert rest == []


def test_what_matters_most_for_each_peak_is_said() -> None:
    table = sensitivities(["a"], air_column=True)
    told = dimension_sentences(table, RATE)[-1]
    assert told == (
        "Of the instrument’s peaks, what matters most is the throat diameter for peaks 2 to 12."
    )


def test_an_effect_within_the_noise_is_said_to_be_lost_in_it() -> None:
    table = sensitivities(["a"])
    loud = table["quantity"] == "resonance"
    table.loc[loud, "noise_floor"] = 7.0
    told = dimension_sentences(table, RATE)[-1]
    assert "numerical noise of the first resonance (± 7 cents)" in told
    assert "flow resistance" not in told


def test_the_table_has_the_strongest_dimensions_of_either_quantity() -> None:
    table = sensitivities(["a"])
    printed = printed_dimensions(table, RATE)
    assert printed is not None
    assert [cell.text for cell in printed.columns] == [
        "Dimension", "Size, mm", "First resonance, cents", "Flow resistance at 0.2 L/s, %",
    ]  # fmt: skip
    rows = {row[0].text: [cell.text for cell in row[1:]] for row in printed.rows}
    assert next(iter(rows)) == "throat diameter"
    assert len(rows) == STRONGEST
    assert rows["throat diameter"] == ["3.66", "+5.87 ± 0.18", "−3.16 ± 0.09"]
    assert rows["entry radius"] == ["1", "+0.170 ± 0.005", "−0.221 ± 0.007"]
    assert "backbore end diameter" not in rows  # the weakest of seven lengths in both


def test_a_hostile_label_stays_text_in_figure_sentence_and_table(
    sensitive: PicturedStudy, tmp_path: Path
) -> None:
    evil = "<script>alert(1)</script> & $x^{2}$ " + "very " * 20 + "long_" * 20
    table = sensitive.sensitivities
    table = table.assign(
        dimension_label=table["dimension_label"].replace("throat diameter", evil),
        case=table["case"].replace(table["case"].iloc[0], sensitive.cases[0].name),
    )
    study = replace(sensitive, sensitivities=table)
    text = write(tmp_path / "report.html", study, sensitivities=table)
    assert "<script" not in text
    page = Page(text)
    assert not page.open
    assert sum("<script>alert(1)</script>" in words for words in page.words) >= 2
    assert (tmp_path / "figures" / "sensitivities.svg").is_file()


@pytest.mark.usefixtures("look")
def test_no_words_of_the_figures_meet_or_leave_the_page(
    sensitive: PicturedStudy, measured: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    labels = sensitive.sensitivities["dimension_label"]
    long = sensitive.sensitivities.assign(
        dimension_label=labels.replace("cup depth", "backbore diameter at 12.25 mm from the throat")
    )
    for study in (sensitive, measured, replace(sensitive, sensitivities=long)):
        draw_ranked(study, tmp_path)
    draw_along(measured, tmp_path)
    for drawing in drawn:
        assert overlapping(drawing) == []
        for text, box in extents(drawing):
            frame = drawing.bbox.padded(0.5)
            assert frame.contains(*box.min), text.get_text()
            assert frame.contains(*box.max), text.get_text()


def test_the_report_says_what_each_dimension_does_after_the_comparison(
    sensitive: PicturedStudy, tmp_path: Path
) -> None:
    words = {case.name: case.label for case in sensitive.cases}
    text = write(
        tmp_path / "report.html", sensitive, sensitivities=sensitive.sensitivities, labels=words
    )
    order = ['id="comparison"', "Figure 1. The bores", 'id="dimensions"',
             "the throat diameter matters most", ". What 0.001"]  # fmt: skip
    places = [text.index(mark) for mark in order]
    assert places == sorted(places)
    assert "does to “square”" in text
    assert 'href="#dimensions"' in text
    numbers = [int(part.split(".")[0]) for part in text.split("<strong>Figure ")[1:]]
    assert numbers == list(range(1, len(numbers) + 1))


def test_a_report_without_sensitivities_has_no_section_for_them(
    study: PicturedStudy, tmp_path: Path
) -> None:
    assert "#dimensions" not in write(tmp_path / "report.html", study)
    assert 'id="dimensions"' not in (tmp_path / "report.html").read_text()


def test_a_figure_has_no_more_digits_than_the_largest_of_its_panel() -> None:
    found = [printed(value, 12.3) for value in (12.3, -0.352, 0.0004, -0.0004, 0.0)]
    assert found == ["+12", "−0.4", "≈ 0", "≈ 0", "0"]
    assert [printed(0.00123, 0.004), printed(1e-5, 0.004)] == ["+0.0012", "+0.00001"]


def test_two_stations_at_one_place_are_told_apart() -> None:
    found = effects_of(sensitivities(["a"], stations=STATIONS), "resonance")
    assert found is not None
    labels = {one.key: one.label for one in found.effects}
    assert labels["station 4"] == "radius at 5 mm (station 4)"
    assert labels["station 3"] == "radius at 2.5 mm"
    assert len(set(labels.values())) == len(STATIONS)


def test_the_pipe_behind_the_shank_is_said_to_change_with_the_shank_end(
    measured: PicturedStudy, tmp_path: Path
) -> None:
    def captions(termination: str) -> list[str]:
        cases = [with_acoustics(case, termination=termination) for case in measured.cases]
        records = [
            draw(replace(measured, cases=cases), tmp_path) for draw in (draw_ranked, draw_along)
        ]
        return [record.caption for record in records if record is not None]

    assert ["endless pipe" in words for words in captions("anechoic pipe")] == [True, True]
    assert ["endless pipe" in words for words in captions("closed")] == [False, False]


def test_a_signed_number_has_its_sign() -> None:
    assert (signed(0.352), signed(-1234.0), signed(0.0)) == ("+0.35", "−1200", "0")
