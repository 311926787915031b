"""Figures of what a player hears of: peaks in cents, the mouthpiece's own curves, the field."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.report.figures import instrument, sound_field
from borestudy.report.figures.collection import PicturedStudy

PLAYED = np.arange(2, 13)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """Every figure that is saved, as Matplotlib has it."""
    figures: list[Figure] = []
    for module in (instrument, sound_field):
        kept = module.save

        def save(drawing, *given, keep=kept, **words):  # type: ignore[no-untyped-def]
            figures.append(drawing)
            return keep(drawing, *given, **words)

        monkeypatch.setattr(module, "save", save)
    return figures


def with_peaks(comparison: pd.DataFrame) -> pd.DataFrame:
    columns = {"termination": "air column, open unflanged"}
    for peak in PLAYED:
        columns[f"peak_{peak}_change_cents"] = [0.0, 1.5 * peak]
        columns[f"peak_{peak}_change_cents_uncertainty"] = [0.0, 0.1]
        columns[f"peak_{peak}_above_harmonic_cents"] = [-3.0, peak - 6.0]
        columns[f"peak_{peak}_above_harmonic_cents_uncertainty"] = [0.2, 0.2]
    return comparison.assign(**columns)


def test_cents_and_bars_of_every_peak_are_the_tables(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    table = with_peaks(study.comparison)
    assert instrument.has_instrument(table)
    assert not instrument.has_instrument(study.comparison)
    record = instrument.draw_peaks(table, study.cases, tmp_path)
    changes, harmonics = drawn[0].axes
    line, _, (bars,) = changes.containers[1]
    np.testing.assert_allclose(line.get_ydata(), 1.5 * PLAYED)
    lengths = [np.ptp(segment[:, 1]) / 2 for segment in bars.get_segments()]
    np.testing.assert_allclose(lengths, 0.1)
    np.testing.assert_allclose(harmonics.containers[1][0].get_ydata(), PLAYED - 6.0)
    assert "harmonic" in record.caption


def test_without_a_fundamental_only_the_changes_are_drawn(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    table = with_peaks(study.comparison)
    table = table[[name for name in table if "harmonic" not in str(name)]]
    instrument.draw_peaks(table, study.cases, tmp_path)
    assert len(drawn[0].axes) == 1


def test_the_mouthpieces_curves_are_drawn_with_the_quarter_wave_and_the_band(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    frequency = np.geomspace(50, 2000, 30)
    curves = {
        "frequency_Hz": frequency.tolist(),
        "equivalent_length_mm": (60 + 0.05 * frequency).tolist(),
        "pressure_gain": (1 + frequency / 2000).tolist(),
        "pressure_transfer": (1 / (1 + frequency / 500)).tolist(),
    }
    band = {"peak": 2.0, "band_low_Hz": 700.0, "band_high_Hz": 1100.0}
    acoustics = {"curves": curves, "gain": band, "sound_speed_m_per_s": 345.0}
    cases = [replace(case, acoustics=acoustics) for case in study.cases]
    assert not instrument.has_curves(study.cases[0])
    instrument.draw_mouthpiece(cases, tmp_path)
    length, gain, transfer = drawn[0].axes
    np.testing.assert_allclose(length.lines[0].get_ydata(), curves["equivalent_length_mm"])
    np.testing.assert_allclose(length.lines[-1].get_ydata(), 1e3 * 345.0 / (4 * frequency))
    np.testing.assert_allclose(gain.lines[1].get_xdata(), [700.0, 1100.0])
    np.testing.assert_allclose(gain.lines[1].get_ydata(), np.sqrt(2.0))
    np.testing.assert_allclose(transfer.lines[0].get_ydata(), curves["pressure_transfer"])


def test_size_and_phase_of_the_field_are_those_of_the_file(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    record = sound_field.draw_resonance_field(study.cases[0], tmp_path)
    assert "800.0 Hz" in record.title
    pictures = [axes.images[0].get_array() for axes in drawn[0].axes if axes.images]
    size, phase = (np.asarray(picture) for picture in pictures[:2])
    x = np.linspace(0, 20, size.shape[1])
    np.testing.assert_allclose(size[len(size) // 2], np.cos(np.pi / 40 * x), atol=2e-3)
    # at the far end the pressure vanishes and its phase with it
    inside = x < 19.5
    np.testing.assert_allclose(phase[len(phase) // 2][inside], -x[inside], atol=0.1)
    assert len(pictures) >= 4


def test_the_strongest_resonance_is_named_where_its_field_is_drawn(
    study: PicturedStudy, tmp_path: Path
) -> None:
    case = study.cases[0]
    path = tmp_path / "strongest_resonance.vtu"
    assert case.acoustic_field is not None
    path.write_bytes(case.acoustic_field.read_bytes())
    peaks = [
        {"frequency_Hz": 90.0, "impedance_peak_Pa_s_per_m3": 1e7},
        {"frequency_Hz": 820.0, "impedance_peak_Pa_s_per_m3": 5e7},
    ]
    case = replace(case, acoustics={"resonances": peaks}, acoustic_field=path)
    record = sound_field.draw_resonance_field(case, tmp_path)
    assert "(peak 2) at 820.0 Hz" in record.title
