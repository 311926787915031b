"""The part of a report on starting a tone: what its figures, its tables and its player have."""

import base64
import re
import wave
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.colors import same_color
from matplotlib.figure import Figure

from borestudy.report.content import ResultTables, StudyReport
from borestudy.report.figures import onset, tone
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.listening import MOST_BORES, MOST_LETTERS, BoreSounds, chosen, player_of
from borestudy.report.page import write_report
from borestudy.report.scripts import hash_of
from borestudy.report.tables.onset import (
    printed_changes,
    printed_onset,
    printed_tone,
    printed_tone_changes,
)
from borestudy.results.onset_changes import onset_changes_table
from borestudy.results.tables.playing import onset_table, tone_table
from borestudy.results.tone_changes import tone_changes_table

from .conftest import make_study
from .playing import LOWER, SILENT, with_playing, write_sound

WORDS = ("square", "rounded 0.5 mm", "rounded 1 mm")


@pytest.fixture
def played(tmp_path: Path) -> PicturedStudy:
    """Three bores with an onset and a tone."""
    return with_playing(make_study(tmp_path, WORDS, fields=False))


def bars(container: Any) -> np.ndarray:
    """Lower and upper ends of those error bars that are there, shape (2, n)."""
    segments = container.lines[2][0].get_segments()
    return np.array([one[:, 1] for one in segments if len(one)]).T


def table_of(record: Any) -> pd.DataFrame:
    return pd.read_csv(record.csv_path)


def test_thresholds_are_those_of_the_records_with_their_uncertainty(
    played: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    onset.draw_thresholds(played, tmp_path)
    above, below = drawn[0].axes
    for case, container in zip(played.cases, above.containers[1:], strict=True):
        assert case.results.onset is not None
        found = [one.mouth_pressure for one in case.results.onset.registers if one.mouth_pressure]
        line = container.lines[0]
        known = np.isfinite(np.asarray(line.get_ydata(), float))
        np.testing.assert_allclose(line.get_ydata()[known], [one.value / 1e3 for one in found])
        ends = bars(container)
        np.testing.assert_allclose(ends, [[one.low / 1e3 for one in found],
                                          [one.high / 1e3 for one in found]])  # fmt: skip
    changes = [container.lines[0].get_ydata() for container in below.containers]
    for index, found in enumerate(changes, start=1):
        known = np.isfinite(found)
        assert list(np.flatnonzero(~known) + 1) == list(SILENT.get(index, ()))
        np.testing.assert_allclose(found[known], 100 * (LOWER**index - 1))


def test_the_range_of_the_lips_is_that_of_the_set(
    played: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = onset.draw_thresholds(played, tmp_path)
    found = played.cases[0].results.onset
    assert found is not None
    (band, *_) = drawn[0].axes[0].containers
    for bar, one in zip(band.patches, found.registers, strict=True):
        known = [value for value in one.set_mouth_pressure_Pa if value is not None]
        assert bar.get_y() == pytest.approx(min(known) / 1e3)
        assert bar.get_y() + bar.get_height() == pytest.approx(max(known) / 1e3)
    (second, third) = drawn[0].axes[1].collections[0], drawn[0].axes[1].collections[2]
    table = table_of(record)
    for label, drawn_range in zip(WORDS[1:], (second, third), strict=True):
        rows = table[table["case"] == label].dropna(subset=["change_of_lips_low_percent"])
        ends = np.array([one[:, 1] for one in drawn_range.get_segments() if len(one)])
        ends = ends[np.isfinite(ends).all(axis=1)]
        names = ["change_of_lips_low_percent", "change_of_lips_high_percent"]
        np.testing.assert_allclose(ends, rows[names])


def test_a_register_without_a_tone_is_named_with_the_reason(
    played: PicturedStudy, tmp_path: Path
) -> None:
    record = onset.draw_thresholds(played, tmp_path)
    assert record is not None
    words = "Without a number: rounded 0.5 mm, register 8 (no oscillation within 20 kPa)."
    assert words in record.caption
    whole = replace(played, cases=played.cases[::2])
    assert "Without a number" not in onset.draw_thresholds(whole, tmp_path).caption


def test_pitch_is_above_the_peak_and_its_change_against_the_first_bore(
    played: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = onset.draw_sounding(played, tmp_path)
    table = table_of(record)
    first = table[table["case"] == WORDS[0]]
    np.testing.assert_allclose(first["sounding_above_peak_cents"], 1200 * np.log2(1.02))
    np.testing.assert_allclose(first["change_cents"], 0.0, atol=1e-9)
    last = table[table["case"] == WORDS[2]]
    np.testing.assert_allclose(last["change_cents"], 2 * 1200 * np.log2(1.001))
    assert len(drawn[0].axes) == 2


def test_spectra_are_the_harmonics_and_their_differences_from_the_first_bore(
    played: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = tone.draw_spectra(played, tmp_path)
    table = table_of(record)
    other = table[(table["case"] == WORDS[2]) & (table["level"] == "soft")]
    heard = other["shank_above_first_dB"].dropna()
    np.testing.assert_allclose(heard, 0.4 * other["harmonic"][heard.index])
    first = played.cases[0].results.tone
    assert first is not None
    soft = np.array(first.at_levels[0].shank_harmonics_dB)
    assert len(heard) == np.sum(soft >= soft.max() - tone.REACH) < len(soft)
    grid = np.array(drawn[0].axes).reshape(3, 2)
    for axes, level in zip(grid[0], first.at_levels, strict=True):
        cup = axes.lines[0].get_ydata()
        known = np.isfinite(cup)
        np.testing.assert_allclose(cup[known], np.array(level.cup_harmonics_dB)[known])
    for axes, slope in zip(grid[1:, 1], (0.1, 0.2), strict=True):
        line = axes.lines[1].get_xydata()
        known = np.isfinite(line[:, 1])
        np.testing.assert_allclose(line[known, 1], slope * line[known, 0])


def test_a_falling_pressure_has_hollow_marks_of_the_same_bore(
    played: PicturedStudy, drawn: list[Figure], tmp_path: Path
) -> None:
    record = tone.draw_course(played, tmp_path)
    loud, pitch = drawn[0].axes
    for case, rising, falling in zip(played.cases, loud.lines[::2], loud.lines[1::2], strict=True):
        found = case.results.tone
        assert found is not None
        np.testing.assert_allclose(1e3 * rising.get_xdata(), found.rising_mouth_pressure_Pa)
        np.testing.assert_allclose(1e3 * rising.get_ydata(), found.rising_cup_pressure_Pa)
        np.testing.assert_allclose(1e3 * falling.get_ydata(), found.falling_cup_pressure_Pa)
        assert same_color(falling.get_markerfacecolor(), "white")
        assert not same_color(rising.get_markerfacecolor(), "white")
    silent = np.asarray(loud.lines[0].get_ydata()) == 0
    assert np.isnan(np.asarray(pitch.lines[0].get_ydata(), float)[silent]).all()
    assert set(table_of(record)["way"]) == {"rising", "falling"}


def test_a_study_without_lips_has_no_such_figure(study: PicturedStudy, tmp_path: Path) -> None:
    draws = (onset.draw_thresholds, onset.draw_sounding, tone.draw_spectra, tone.draw_course)
    assert [draw(study, tmp_path) for draw in draws] == [None] * 4


def test_one_bore_alone_has_no_panel_of_changes(tmp_path: Path, drawn: list[Figure]) -> None:
    alone = with_playing(make_study(tmp_path, ("square",), fields=False))
    for draw in (onset.draw_thresholds, onset.draw_sounding, tone.draw_spectra):
        record = draw(alone, tmp_path)
        assert record is not None
        assert "Below" not in record.caption
    assert [len(one.axes) for one in drawn] == [1, 1, 2]


def tables_of(study: PicturedStudy) -> ResultTables:
    """The tables as a study writes them."""
    cases = [case.results for case in study.cases]
    return ResultTables(
        comparison=study.comparison,
        flow=study.flow,
        onset=onset_table(cases),
        onset_changes=onset_changes_table(cases),
        tone=tone_table(cases),
        tone_changes=tone_changes_table(cases),
    )


def test_a_change_stands_with_the_count_of_lips_that_agree_and_its_word(
    played: PicturedStudy,
) -> None:
    tables = tables_of(played)
    table = printed_changes(tables.onset_changes)
    assert table is not None
    heads = [column.text for column in table.columns]
    assert heads == ["Bore", "Register", "Change, %", "Lips alike", "Result",
                     "Change, cents", "Lips alike", "Result"]  # fmt: skip
    first, *_ = ([cell.text for cell in row] for row in table.rows)
    assert first[0] == played.cases[1].name
    assert first[2].startswith("−3 ")
    assert first[3] == "9 of 9"
    assert first[4] == "lower"
    assert first[7] == "higher"
    assert played.cases[0].name not in {row[0].text for row in table.rows}
    assert printed_changes(tables.onset_changes[lambda one: one["register"] > 99]) is None
    alone = tables.onset_changes["case"] == played.cases[0].name
    assert printed_changes(tables.onset_changes[alone]) is None


def test_changes_of_the_tone_are_of_the_other_bores(played: PicturedStudy) -> None:
    changes = tables_of(played).tone_changes
    table = printed_tone_changes(changes)
    assert table is not None
    assert [[cell.text for cell in row][:2] for row in table.rows] == [
        [case.name, level] for case in played.cases[1:] for level in ("soft", "loud")
    ]
    # of 2000 Hz behind the shank 15 Hz are 0.75 %
    place = [name for name, count in table.groups for _ in range(count)].index(
        "Centroid behind the shank"
    )
    assert table.rows[1][place].text.startswith("0.75 ")
    alone = changes["case"] == played.cases[0].name
    assert printed_tone_changes(changes[alone]) is None
    assert printed_tone_changes(pd.DataFrame()) is None


def test_onset_and_tone_have_a_row_a_register_and_a_level(played: PicturedStudy) -> None:
    tables = tables_of(played)
    rows = printed_onset(tables.onset).rows
    silent = [[cell.text for cell in row] for row in rows if row[1].text == "8"][1]
    assert len(rows) == 24
    assert silent[2] == "none"
    assert silent[-1] == "no oscillation within 20 kPa"
    assert rows[0][-1].text == "within range"
    unlimited = printed_onset(tables.onset.assign(validity=""))
    assert {row[-1].text for row in unlimited.rows} == {"good"}
    loud = [cell.text for cell in printed_tone(tables.tone).rows[1]]
    assert loud[:2] == [played.cases[0].name, "loud"]
    assert "2000.0 ± 1.0" in loud


def sounds(folder: Path, count: int, seconds: float = 0.05) -> list[BoreSounds]:
    """Bores of which each is darker than the one before, but the last but one, the brightest."""
    path = write_sound(folder / "sound.wav", 440.0, seconds)
    files = {"soft": path, "loud": path}
    return [
        BoreSounds(
            label=f"bore {place}",
            files=files,
            centroid=9000.0 if place == count - 2 else 1000.0 - place,
        )
        for place in range(count)
    ]


def test_a_sound_stands_in_the_page_as_it_is_in_its_file(tmp_path: Path) -> None:
    bores = sounds(tmp_path, 2)
    player = player_of(bores)
    assert player is not None
    kind, packed = player.tones[0].address.split(",")
    assert kind == "data:audio/wav;base64"
    assert base64.b64decode(packed) == bores[0].files["soft"].read_bytes()
    with wave.open(BytesIO(base64.b64decode(packed))) as file:
        assert (file.getframerate(), file.getsampwidth(), file.getnchannels()) == (48000, 2, 1)
    assert sum(one.letters for one in bores) == sum(len(one.address.split(",")[1])
                                                   for one in player.tones)  # fmt: skip
    assert not player.note


def test_of_many_bores_the_first_and_the_extremes_can_be_heard(tmp_path: Path) -> None:
    few, many = sounds(tmp_path, MOST_BORES), sounds(tmp_path, MOST_BORES + 1)
    assert chosen(few) == few
    assert [one.label for one in chosen(many)] == ["bore 0", "bore 5", "bore 6"]
    player = player_of(many)
    assert player is not None
    assert f"Of {MOST_BORES + 1} bores the page has the sounds of 3" in player.note


def test_no_page_holds_more_sound_than_its_bound(tmp_path: Path) -> None:
    for seconds in (5.0, 8.0, 20.0):
        bores = sounds(tmp_path, MOST_BORES, seconds)
        held = chosen(bores)
        assert sum(one.letters for one in held) <= MOST_LETTERS
        assert len(held) == {5.0: 2, 8.0: 1, 20.0: 0}[seconds]
        assert (player_of(bores) is None) == (not held)
    assert player_of([]) is None


def page_of(study: PicturedStudy, folder: Path, bores: list[BoreSounds]) -> str:
    lips = any(case.results.onset for case in study.cases)
    tables = tables_of(study) if lips else ResultTables(comparison=study.comparison)
    report = StudyReport(
        title="a", question="b?", answers=["c"], tables=tables, sounds=bores,
        playing=["It starts with less pressure.", "It sounds higher."],
    )  # fmt: skip
    write_report(folder / "report.html", report)
    return (folder / "report.html").read_text("utf-8")


def test_the_part_opens_with_its_sentences_and_says_what_is_left_out(
    played: PicturedStudy, tmp_path: Path
) -> None:
    text = page_of(played, tmp_path, sounds(tmp_path, 2))
    part = text[text.index('id="playing"') :]
    part = part[: part.index("</summary>") + 400]
    assert "<p>It starts with less pressure.</p>\n<p>It sounds higher.</p>" in part
    for words in ("Non-linear propagation", "Vibration of the walls", "own tract", "one mass"):
        assert words in text
    assert "A model’s tone with invented lips, not any instrument’s" in text


def test_the_policy_lets_sounds_and_the_players_script_be_and_nothing_else(
    played: PicturedStudy, study: PicturedStudy, tmp_path: Path
) -> None:
    text = page_of(played, tmp_path, sounds(tmp_path, 2))
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    (script,) = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    parts = policy.replace("&#39;", "'").split("; ")
    assert parts == ["default-src 'none'", "style-src 'unsafe-inline'", "img-src data:",
                     "media-src data:", f"script-src '{hash_of(script)}'"]  # fmt: skip
    silent = page_of(study, tmp_path, [])
    assert "media-src" not in silent
    assert "script-src" not in silent
    assert 'id="playing"' not in silent


def test_a_hostile_label_stays_text_in_the_player(played: PicturedStudy, tmp_path: Path) -> None:
    hostile = '"><script>window.broken = 1</script>'
    bores = [replace(one, label=hostile) for one in sounds(tmp_path, 2)]
    text = page_of(played, tmp_path, bores)
    assert hostile not in text
    assert len(re.findall(r"<script>", text)) == 1
