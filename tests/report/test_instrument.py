"""Figures of what a player hears of: peaks in cents, the mouthpiece's own curves, the field."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from borestudy.acoustics.result import Band
from borestudy.quantity import Quantity
from borestudy.report.figures import impedance, mouthpiece, sound_field
from borestudy.report.figures.case import PicturedStudy

from .conftest import a_peak, curves, with_acoustics

PLAYED = np.arange(2, 13)


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
    assert impedance.draw_peaks(study, tmp_path) is None
    record = impedance.draw_peaks(replace(study, comparison=table), tmp_path)
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
    impedance.draw_peaks(replace(study, comparison=table), tmp_path)
    assert len(drawn[0].axes) == 1


def test_the_mouthpieces_curves_are_drawn_with_the_quarter_wave_and_the_band(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    own = curves()
    band = Band(
        peak=Quantity(2.0, None),
        band_low=Quantity(700.0, None, "Hz"),
        band_high=Quantity(1100.0, None, "Hz"),
    )
    frequency = np.array(own.frequency_Hz)
    cases = [
        with_acoustics(case, curves=own, gain=band, sound_speed_m_per_s=345.0)
        for case in study.cases
    ]
    assert mouthpiece.draw_mouthpiece(study, tmp_path) is None
    mouthpiece.draw_mouthpiece(replace(study, cases=cases), tmp_path)
    length, gain, transfer, *differences = drawn[0].axes
    np.testing.assert_allclose(length.lines[0].get_ydata(), own.equivalent_length_mm)
    np.testing.assert_allclose(length.lines[-1].get_ydata(), 1e3 * 345.0 / (4 * frequency))
    np.testing.assert_allclose(gain.lines[1].get_xdata(), [700.0, 1100.0])
    np.testing.assert_allclose(gain.lines[1].get_ydata(), np.sqrt(2.0))
    np.testing.assert_allclose(transfer.lines[0].get_ydata(), own.pressure_transfer)
    for axes in differences:  # of curves that are alike
        np.testing.assert_allclose([line.get_ydata() for line in axes.lines], 0, atol=1e-12)


def test_another_mouthpieces_curves_are_drawn_as_differences_to_the_first(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    cases = [with_acoustics(case, curves=curves(2.5 * at)) for at, case in enumerate(study.cases)]
    record = mouthpiece.draw_mouthpiece(replace(study, cases=cases), tmp_path)
    assert record is not None
    length, gain, _ = drawn[0].axes[3:]
    np.testing.assert_allclose(length.lines[1].get_ydata(), 2.5)
    np.testing.assert_allclose(gain.lines[1].get_ydata(), 0.0, atol=1e-12)
    assert "less the first one" in record.caption


def test_size_and_phase_of_the_field_are_those_of_the_file(
    study: PicturedStudy, tmp_path: Path, drawn: list[Figure]
) -> None:
    record = sound_field.draw_resonance_field(study, tmp_path)
    assert "800.0 Hz" in record.title
    pictures = [axes.images[0].get_array() for axes in drawn[0].axes if axes.images]
    size, phase = (np.asarray(picture) for picture in pictures[::2])
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
    peaks = (a_peak(90.0, 1e7, "first_resonance.vtu"), a_peak(820.0, 5e7, path.name))
    case = replace(with_acoustics(case, resonances=peaks), acoustic_field=path)
    record = sound_field.draw_resonance_field(replace(study, cases=[case]), tmp_path)
    assert "(peak 2) at 820.0 Hz" in record.title
