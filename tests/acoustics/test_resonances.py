"""Peaks, poles and the figures made of them."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.acoustics.mouthpiece import band_figures, equivalent_length
from borestudy.acoustics.resonances import (
    complex_poles,
    impedance_peaks,
    lossless_resonances,
    nearest_harmonics,
    peak_centroid,
    quality_factors,
)
from borestudy.acoustics.result import AcousticResult
from borestudy.acoustics.solve import acoustic_result, impedance_columns
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.closed_form.air_column import air_column
from borestudy.closed_form.tube import transfer_matrix
from borestudy.records import read_record, write_record


def oscillators(frequency):
    """Two parallel resonant circuits: poles at (300 + 6i) and (900 + 90i) Hz."""
    total = np.zeros(len(frequency), dtype=complex)
    for pole, height in ((300 + 6j, 5.0), (900 + 90j, 2.0)):
        strength = height * pole.imag
        total += 1j * strength / (pole - frequency) + 1j * strength / (-np.conj(pole) - frequency)
    return -total


def test_poles_of_a_rational_impedance_are_found():
    poles, _ = complex_poles(oscillators, 50, 2000)
    for pole in (300 + 6j, 900 + 90j):
        assert np.min(np.abs(poles - pole)) < 1e-5


def test_q_is_that_of_the_pole():
    frequencies, _ = impedance_peaks(oscillators, 50, 2000)
    quality = quality_factors(oscillators, frequencies, 50, 2000)
    np.testing.assert_allclose(quality, [300 / 12, 900 / 180], rtol=1e-6)


@pytest.mark.parametrize("width", [200.0, 2.0], ids=["wide", "narrower than the grid"])
def test_peak_of_a_known_curve_is_placed_to_eight_digits(width):
    def curve(frequency):
        return 1 / (1 + ((frequency - 812.3456789) / width) ** 2) + 0j

    frequencies, heights = impedance_peaks(curve, 50, 5000)
    assert frequencies == pytest.approx([812.3456789], rel=1e-8)
    assert heights == pytest.approx([1.0])


def test_monotonic_curve_has_no_resonance():
    frequencies, _ = impedance_peaks(lambda f: f + 0j, 50, 500)
    assert len(frequencies) == 0
    assert len(quality_factors(oscillators, frequencies, 50, 500)) == 0


def test_foster_zeros_of_a_closed_lossless_pipe_are_half_wavelengths(dry_air):
    def impedance(frequency):
        chain = transfer_matrix(4e-3, 0.1, 2 * np.pi * frequency, dry_air, lossless=True)
        return chain[:, 0, 0] / chain[:, 1, 0]

    found = lossless_resonances(impedance, 100, 6000)
    np.testing.assert_allclose(found, np.arange(1, 4) * dry_air.sound_speed / 0.2, rtol=1e-9)


def test_pipe_resonance_and_q_are_those_of_the_exact_tube(dry_air, meshes):
    pipe = solve_two_port([meshes.tube(4.6e-3, 0.088, 40, 3)], dry_air, 100, 5000)
    termination = build_termination("open", 4.6e-3)

    def exact(frequency):
        omega = 2 * np.pi * frequency
        state = (
            transfer_matrix(4.6e-3, 0.088, omega, dry_air)
            @ termination.state(omega, dry_air)[:, :, None]
        )
        return state[:, 0, 0] / state[:, 1, 0]

    def found(frequency):
        return input_impedance(pipe, termination, frequency)

    peaks, known = (impedance_peaks(curve, 100, 5000)[0] for curve in (found, exact))
    np.testing.assert_allclose(peaks, known, rtol=1e-5)
    np.testing.assert_allclose(
        quality_factors(found, peaks, 100, 5000),
        quality_factors(exact, known, 100, 5000),
        rtol=2e-3,
    )


def test_results_carry_uncertainties_and_survive_json(mouthpiece, tmp_path):
    termination = build_termination("anechoic pipe", mouthpiece.shank_radius)
    write_record(tmp_path / "acoustics.json", acoustic_result(mouthpiece, termination))
    results = read_record(tmp_path / "acoustics.json", AcousticResult)
    assert results == acoustic_result(mouthpiece, termination)
    first = results.resonances[0]
    assert 500 < first.frequency.value < 1200
    assert 1 < first.Q.value < 6
    for figure in (first.frequency, first.Q, first.impedance_peak):
        assert 0 < figure.uncertainty < 0.01 * figure.value
        assert len(figure.levels) == 3
        assert figure.levels[-1] == figure.value
    assert results.power_balance < 1e-9
    assert results.reciprocity < 1e-9
    assert results.validity == "good"


def test_uncertainty_covers_a_much_finer_mesh(mouthpiece, meshes, dry_air):
    termination = build_termination("closed", mouthpiece.shank_radius)
    fine = solve_two_port([meshes.mouthpiece(6.0)], dry_air, 50, 5000)
    known = acoustic_result(fine, termination).resonances
    found = acoustic_result(mouthpiece, termination).resonances
    assert len(found) == len(known) > 1
    for here, there in zip(found, known, strict=True):
        for ours, theirs in (
            (here.frequency, there.frequency),
            (here.impedance_peak, there.impedance_peak),
        ):
            assert abs(ours.value - theirs.value) <= ours.uncertainty


def test_lossless_closed_bore_has_frequencies_but_neither_q_nor_height(meshes, dry_air):
    bore = solve_two_port([meshes.mouthpiece(1.0)], dry_air, 50, 5000, walls="lossless")
    termination = build_termination("closed", bore.shank_radius, "lossless")
    first = acoustic_result(bore, termination).resonances[0]
    assert first.Q is None
    assert first.impedance_peak is None
    assert first.frequency.value > 0


def test_range_beyond_the_cut_on_is_flagged_with_the_frequency(meshes, dry_air):
    bore = solve_two_port([meshes.mouthpiece(1.0)], dry_air, 50, 14000)
    results = acoustic_result(bore, build_termination("anechoic pipe", bore.shank_radius))
    expected = 1.8411838 * dry_air.sound_speed / (2 * np.pi * 8.1e-3)
    assert results.cut_on_Hz == pytest.approx(expected, rel=1e-6)
    assert f"above {expected:.0f} Hz" in results.validity


def test_impedance_columns_have_an_uncertainty_in_every_row(mouthpiece):
    termination = build_termination("anechoic pipe", mouthpiece.shank_radius)
    table = impedance_columns(mouthpiece, termination, np.linspace(50, 5000, 30))
    for part in ("real", "imag"):
        uncertainty = table[f"impedance_{part}_Pa_s_per_m3_uncertainty"]
        assert (uncertainty > 0).all()
        assert uncertainty.shape == (30,)


def test_equivalent_length_tends_to_volume_over_area(mouthpiece, meshes):
    length = equivalent_length(mouthpiece, [50.0])[0]
    x, r = meshes.corners.T
    volume = np.pi / 3 * np.sum(np.diff(x) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2))
    area = np.pi * mouthpiece.shank_radius**2
    # wall losses stiffen the air of both alike, to a few per mil at 50 Hz; so does (kL)²
    assert length == pytest.approx(volume / area, rel=1e-2)


def test_equivalent_length_is_a_quarter_wave_at_the_bores_own_resonance(meshes, dry_air):
    bore = solve_two_port([meshes.mouthpiece(1.0)], dry_air, 50, 5000, walls="lossless")
    own = lossless_resonances(
        lambda f: input_impedance(bore, build_termination("pressure node", 4.5e-3, "lossless"), f),
        50, 3000,
    )[0]  # fmt: skip
    frequencies = np.append(np.linspace(50, own - 1, 100), own)
    length = equivalent_length(bore, frequencies)[-1]
    assert length == pytest.approx(dry_air.sound_speed / (4 * own), rel=1e-6)


@pytest.fixture(scope="module")
def column_peaks(mouthpiece):
    column = air_column(np.array([0, 0.3, 0.9, 1.3]), np.array([4.5, 5.8, 5.8, 20.0]) * 1e-3)
    termination = build_termination("air column", mouthpiece.shank_radius, column=column)
    narrower = replace(mouthpiece, highest_frequency=1600.0)
    return acoustic_result(narrower, termination, fundamental=115.0)


def test_air_column_has_its_peaks_and_their_harmonics(column_peaks):
    resonances = column_peaks.resonances
    assert len(resonances) >= 10
    for entry in resonances:
        target = entry.nearest_harmonic * 115.0
        assert 1200 * np.log2(entry.frequency.value / target) == pytest.approx(
            entry.cents_above_harmonic
        )
        assert entry.Q.value > 5
    assert 50 < column_peaks.peak_centroid.value < 1600


def test_nearest_harmonic_of_a_sharp_octave_is_the_second():
    number, cents = nearest_harmonics(np.array([220 * 2 ** (10 / 1200)]), 110.0)
    assert number[0] == 2
    assert cents[0] == pytest.approx(10)


def test_centroid_is_weighted_by_height():
    assert peak_centroid(np.array([100.0, 300.0]), np.array([3.0, 1.0])) == 150.0
    assert np.isnan(peak_centroid(np.array([100.0]), np.array([3.0])))


def test_band_of_a_resonance_is_its_frequency_over_q():
    frequency = np.linspace(10, 200, 20001)
    magnitude = 1 / np.abs(1 + 1j * 5 * (frequency / 80 - 80 / frequency))
    _, place, low, high = band_figures(frequency, magnitude)
    assert place == pytest.approx(80, abs=0.01)
    assert high - low == pytest.approx(16, rel=1e-3)


def test_band_cut_by_the_range_is_not_made_up():
    frequency = np.linspace(1, 10, 50)
    _, place, low, high = band_figures(frequency, 1 / frequency)
    assert np.isnan(low)
    assert place == 1
    assert high == pytest.approx(np.sqrt(2), rel=1e-2)


def test_a_bands_peak_lies_between_the_points_of_the_curve():
    frequencies = np.geomspace(500.0, 1500.0, 101)
    resonance, quality = 777.7, 3.0
    ratio = frequencies / resonance
    curve = 1 / np.abs(1 + 1j * quality * (ratio - 1 / ratio))
    peak, place, low, high = band_figures(frequencies, curve)
    assert place == pytest.approx(resonance, rel=1e-4)
    assert peak == pytest.approx(1.0, rel=1e-4)
    # the half-power band of a resonance is f/Q wide, about the geometric mean of its ends
    assert high - low == pytest.approx(resonance / quality, rel=1e-3)
    assert low * high == pytest.approx(resonance**2, rel=1e-3)
