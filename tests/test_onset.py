"""What starts a tone on one bore: the command and the notebook's function, and what is refused."""

import contextlib
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import borestudy as bs
from borestudy.__main__ import main
from borestudy.playing.lips import Lips
from borestudy.results.onset import NO_TONE, OnsetResult
from borestudy.stages.onset_of_bore import onset_study, with_lips
from borestudy.study import StudyError, load_study
from borestudy.views.onset import Onset

from .results.played import played, register, silent

COLUMN = Path(__file__).parents[1] / "configs" / "air-column.csv"
STATIONS = "position_mm,diameter_mm\n0,16.2\n4,13\n10.8,3.66\n15.8,3.66\n88,9\n"
#: Up to the second peak alone.
STUDY = f"""bore: {{stations: bore.csv}}
air: {{temperature: 20 degC, relative_humidity: 50 %}}
resonance: {{from: 50 Hz, to: 300 Hz, points: 11, behind: {{air column: {COLUMN.name}}}}}
flow: {{rates: 0.02 L/s}}
mesh: {{resolution: coarse}}
lips: {{width: 9 mm, set: 10}}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("bore.csv").write_text(STATIONS)
    Path(COLUMN.name).write_bytes(COLUMN.read_bytes())
    Path("study.yaml").write_text(STUDY)
    return tmp_path


def answered(*words: str) -> dict[str, Any]:
    """What the command answers as JSON."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        assert main(["onset", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(said.getvalue())
    return found


def test_a_study_on_the_shell_and_a_notebook_have_the_same_onset(folder: Path) -> None:
    told = answered("study.yaml", "--output", "onset.csv", "--picture", "onset.svg")
    found = bs.onset(
        bs.Bore.from_stations("bore.csv"), COLUMN.name, bs.Lips(width="9 mm"), air=bs.Air(),
        others=10, rates="0.02 L/s", to="300 Hz", resolution="coarse",
    )  # fmt: skip
    assert told["behind"] == found.result.behind == "air column, open unflanged"
    assert told["source"] == "solved now"
    assert told["lips"]["width_mm"] == 9.0
    assert told["cautions"] == found.cautions == []
    frame = found.to_frame()
    assert list(frame["register"]) == [row["register"] for row in told["rows"]] == [1, 2]
    for name in ("mouth_pressure_Pa", "sounding_frequency_Hz", "set_mouth_pressure_median_Pa"):
        assert list(frame[name]) == pytest.approx([row[name] for row in told["rows"]], rel=1e-9)
    second = found.registers[1]
    # A valve that opens outward sounds above the peak and above its own resonance.
    assert second.sounding_above_peak.value > 0
    assert second.sounding_frequency.value > second.lips_frequency.value
    assert second.mouth_pressure.value > second.mouth_pressure_without_stream.value
    assert len(second.curve_lips_frequency_Hz) > 10
    assert (folder / "onset.csv").read_text().count("\n") == 3
    assert "mouth pressure, kPa" in (folder / "onset.svg").read_text()


def view(*registers: Any, **more: Any) -> Onset:
    case = played("one", registers)
    found = OnsetResult(registers=tuple(registers), behind="air column, open", **more)
    return Onset(replace(case, onset=found), bs.Lips())


def test_the_text_has_a_line_a_register_with_the_range_of_other_lips() -> None:
    lines = view(register(2, 2000.0, 240.0, [0.5, None, 2.0], [1.0] * 3), silent(3)).lines()
    assert "2 kg/m², Q 7, 8 mm wide, 0.5 mm open at rest" in lines[0]
    (second,) = [line for line in lines if line.startswith("  2 ")]
    for words in ("2.000", "1 to 4 (2 of 3)", "240.0", "0.2"):
        assert words in second
    (third,) = [line for line in lines if line.startswith("  3 ")]
    assert third.endswith(NO_TONE)
    assert any("invented" in line for line in lines)
    assert any("own tract" in line for line in lines)


def test_what_must_be_told_is_a_caution() -> None:
    found = view(register(1, 500.0, 120.0), note="no air column")
    assert found.facts()["cautions"] == ["no air column"]
    assert "Caution: no air column." in found.lines()


def test_a_picture_has_thresholds_and_pitch_and_the_range_of_other_lips() -> None:
    drawn = view(
        register(1, 500.0, 120.0, [0.5, 2.0], [1.0, 1.01]),
        register(2, 2000.0, 240.0, [0.5, 3.0], [1.0, 1.01]),
        silent(3),
    ).plot()
    pressures, pitches = drawn.axes
    assert pressures.get_ylabel() == "mouth pressure, kPa"
    assert pitches.get_ylabel() == "above the peak, cents"
    line = pressures.containers[-1].lines[0]
    assert np.allclose(line.get_ydata(), [0.5, 2.0], rtol=1e-3)
    assert list(line.get_xdata()) == [1, 2]
    bars = [patch.get_bbox() for patch in pressures.containers[0].patches]
    assert np.allclose([(bar.y0, bar.y1) for bar in bars], [(0.25, 1.0), (1.0, 6.0)])


def test_nothing_is_drawn_where_no_register_has_a_tone() -> None:
    with pytest.raises(ValueError, match="no register of this bore has a tone"):
        view(silent(1)).plot()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["bore.csv", "--width", "9"], "--width: "),
        (["bore.csv", "--width", "9 m"], "--width: found '9 m'"),
        (["bore.csv", "--opening", "0.5 kg"], "--opening: "),
        (["bore.csv", "--quality-factor", "none"], "--quality-factor: "),
        (["bore.csv", "--mass-per-area", "200 kg/m2"], "--mass-per-area: "),
        (["bore.csv", "--rates", "0.1 mm"], "--rates: "),
        (["bore.csv", "--column", "none.csv"], "--column: "),
        (["none.csv"], "BORE-OR-STUDY: "),
        (["bore.csv", "--case", "one"], "--case: found beside stations (bore.csv)"),
        (["study.yaml", "--column", "air-column.csv"], "--column: found beside a study"),
        (["study.yaml", "--quality-factor", "100"], "--quality-factor: "),
        (["study.yaml", "--case", "none"], "case: found 'none'"),
        (["bore.csv", "--output", "onset.txt"], "--output: "),
    ],
)
def test_what_cannot_be_is_one_message_about_the_option(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert main(["onset", *words]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith(message)
    assert "example" in shown.err
    assert "Traceback" not in shown.err


def test_given_lips_take_the_place_of_the_study_s_alone(folder: Path) -> None:
    study = load_study(Path("study.yaml"))
    assert with_lips(study, {}) is study
    changed = with_lips(study, {"opening": "0.3 mm", "quality_factor": "5"}).lips
    assert changed is not None
    own = changed.own()
    assert (own.width, own.opening_at_rest, own.quality_factor) == (9e-3, 0.3e-3, 5.0)
    assert changed.set_ == 10
    Path("study.yaml").write_text(STUDY.replace("lips: {width: 9 mm, set: 10}", ""))
    plain = with_lips(load_study(Path("study.yaml")), {}).lips
    assert plain is not None
    assert plain.own() == Lips()


def test_measured_stations_are_a_study_with_their_air_column(folder: Path) -> None:
    Path("elsewhere").mkdir()
    Path("elsewhere/bore.csv").write_text(STATIONS)
    study = onset_study(Path("elsewhere/bore.csv"), Path(COLUMN.name), {"width": "7 mm"})
    assert study.air_column_file().resolve() == (folder / COLUMN.name).resolve()
    assert study.lips.own().width == 7e-3
    assert study.frequency_range() == (50.0, 2500.0)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"column": bs.Air()}, "column: found "),
        ({"lips": 7}, "lips: found 7"),
        ({"lips": {"widht": "9 mm"}}, "widht"),
        ({"lips": {"width": "9 m"}}, "width: "),
        ({"others": 5}, "others: "),
        ({"column": COLUMN, "termination": "open"}, "termination: found one beside an air column"),
        ({"column": "none.csv"}, "none.csv"),
    ],
)
def test_a_notebook_is_told_which_argument_is_wrong(
    folder: Path, given: dict[str, Any], message: str
) -> None:
    with pytest.raises((StudyError, ValueError, OSError)) as told:
        bs.onset(bs.Bore.from_stations("bore.csv"), **given)
    assert message in str(told.value)
    assert "example" in str(told.value)


def test_lips_of_a_notebook_are_checked_as_a_study_s() -> None:
    assert bs.Lips(width=9e-3, mass_per_area=2.5).width == 9e-3
    with pytest.raises(StudyError, match="width: found '9 km'"):
        bs.Lips(width="9 km")
