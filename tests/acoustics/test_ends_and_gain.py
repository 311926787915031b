"""Ends by their published end corrections; transfer and gain by chains of closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from borestudy.acoustics.mouthpiece import (
    BAND_POINTS,
    KEPT,
    band_figures,
    mouthpiece_figures,
    transfer_and_gain,
)
from borestudy.acoustics.solve import _peaks, acoustic_result
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.acoustics.uncertainty import SLICES_SHARE
from borestudy.closed_form import tube
from borestudy.closed_form.air_column import air_column, entrance_state
from borestudy.closed_form.cone import cone_transfer_matrix
from borestudy.fem.uncertainty import grid_uncertainty

RADIUS, LENGTH = 4.6e-3, 0.08
#: Air swinging before the end, in radii, as ka → 0: Levine & Schwinger 1948 and Norris & Sheng 1989
#: (both from memory).
END_CORRECTION = {"open": 0.6133, "open flanged": 0.8217}


@pytest.mark.parametrize(("kind", "radii"), END_CORRECTION.items())
def test_an_open_end_lengthens_the_pipe_by_its_published_end_correction(dry_air, kind, radii):
    omega = np.array([1e-2 * dry_air.sound_speed / RADIUS])
    pressure, flow = build_termination(kind, RADIUS).state(omega, dry_air)[0]
    length = (pressure / flow).imag * np.pi * RADIUS**2 / (omega[0] * dry_air.density)
    # Levine & Schwinger's printed digits are 0.1 % above what their integral gives, 0.6127
    assert length / RADIUS == pytest.approx(radii, rel=2e-3)


@pytest.mark.parametrize("word", ["unflanged", "flanged"])
def test_a_columns_end_is_the_open_end_of_the_same_word(dry_air, word):
    """A column of no length to speak of: its entrance is its end."""
    kind = {"unflanged": "open", "flanged": "open flanged"}[word]
    omega = 2 * np.pi * np.array([100.0, 1000.0])
    column = air_column(np.array([0.0, 1e-6]), np.full(2, RADIUS), f"open {word}")
    found = entrance_state(column, omega, dry_air)
    known = build_termination(kind, RADIUS).state(omega, dry_air)
    np.testing.assert_allclose(found[:, 0] / found[:, 1], known[:, 0] / known[:, 1], rtol=1e-3)


def test_a_rigid_wall_lets_nothing_through_where_nothing_is_lost(dry_air):
    omega = np.array([100.0, 1e4])
    assert (build_termination("closed", RADIUS, "lossless").state(omega, dry_air)[:, 1] == 0).all()
    assert (build_termination("closed", RADIUS).state(omega, dry_air)[:, 1].real > 0).all()


@pytest.mark.parametrize(
    ("kind", "ka"),
    # radiation: as far as its table; plane waves: the first axisymmetric zero of J1 (from memory)
    [("open", 3.8), ("open flanged", 3.8), ("closed", 3.8317), ("anechoic pipe", 3.8317)],
)
def test_an_end_is_trusted_up_to_its_plane_waves_limit(dry_air, kind, ka):
    frequency = build_termination(kind, RADIUS).trusted_below(dry_air)
    assert 2 * np.pi * frequency * RADIUS / dry_air.sound_speed == pytest.approx(ka, rel=1e-4)


@pytest.mark.parametrize(("radius", "told"), [(RADIUS, False), (1.02 * RADIUS, True)])
def test_a_step_before_a_column_is_told_of_only_where_there_is_one(radius, told):
    column = air_column(np.array([0, 0.4]), np.full(2, radius), "closed")
    assert ("step" in build_termination("air column", RADIUS, column=column).note) == told
    narrower = air_column(np.array([0, 0.4]), np.full(2, 2 * RADIUS - radius), "closed")
    assert ("step" in build_termination("air column", RADIUS, column=narrower).note) == told


FREQUENCIES = np.geomspace(60, 4800, 30)
OMEGA = 2 * np.pi * FREQUENCIES


def test_nothing_is_gained_in_a_lossless_pipe_that_goes_on_for_ever(dry_air, meshes):
    """p = (ρc/S) U everywhere in a travelling wave."""
    pipe = solve_two_port([meshes.tube(RADIUS, LENGTH, 40, 2)], dry_air, 50, 5000, walls="lossless")
    termination = build_termination("anechoic pipe", RADIUS, "lossless")
    for curve in transfer_and_gain(pipe, termination, FREQUENCIES):
        np.testing.assert_allclose(curve, 1, rtol=1e-4)


@pytest.fixture(scope="module")
def cone(dry_air, meshes):
    """From a wide rim to a narrow shank, as a cup does."""
    return solve_two_port([meshes.cone(8e-3, 4e-3, 0.05, 40, 6)], dry_air, 50, 5000)


@pytest.fixture(scope="module")
def chain(cone, dry_air):
    """The same cone's chain matrix, between its caps."""
    return cone_transfer_matrix(8e-3, 4e-3, np.hypot(0.05, 4e-3), OMEGA, dry_air)


def test_gain_is_the_shanks_pressure_for_a_flow_at_the_rim_over_that_of_a_plane_wave(
    cone, chain, dry_air
):
    """From the chain matrix: U_rim = (C Z + D) U_shank with the anechoic pipe's Z."""
    wave = tube.characteristic_impedance(cone.shank_radius, OMEGA, dry_air)
    plane = dry_air.density * dry_air.sound_speed / (np.pi * cone.shank_radius**2)
    known = np.abs(wave / (chain[:, 1, 0] * wave + chain[:, 1, 1])) / plane
    termination = build_termination("anechoic pipe", cone.shank_radius)
    # the cone's wall losses are taken in slices in one and along the wall in the other
    np.testing.assert_allclose(
        transfer_and_gain(cone, termination, FREQUENCIES)[1], known, rtol=3e-3
    )


def test_transfer_is_the_shanks_pressure_over_the_rims(cone, chain, dry_air):
    wave = tube.characteristic_impedance(cone.shank_radius, OMEGA, dry_air)
    known = np.abs(wave / (chain[:, 0, 0] * wave + chain[:, 0, 1]))
    termination = build_termination("anechoic pipe", cone.shank_radius)
    np.testing.assert_allclose(
        transfer_and_gain(cone, termination, FREQUENCIES)[0], known, rtol=3e-3
    )


def test_bands_and_curves_are_those_with_an_anechoic_termination(mouthpiece):
    termination = build_termination("anechoic pipe", mouthpiece.shank_radius)
    grid = np.geomspace(100, 3000, BAND_POINTS)
    ranged = replace(mouthpiece, lowest_frequency=100.0, highest_frequency=3000.0)
    transfer, gain, curves = mouthpiece_figures(ranged)
    found = gain.peak, gain.peak_frequency, gain.band_low, gain.band_high
    known = band_figures(grid, transfer_and_gain(mouthpiece, termination, grid)[1])
    assert tuple(figure.value for figure in found) == known
    assert not gain.peak_at_range_edge
    kept = transfer_and_gain(mouthpiece, termination, grid[::KEPT])
    np.testing.assert_allclose(curves.pressure_transfer, kept[0])
    np.testing.assert_allclose(curves.pressure_gain, kept[1])
    assert transfer.peak_at_range_edge
    assert transfer.peak.value == pytest.approx(max(curves.pressure_transfer), rel=1e-3)


def test_a_bands_heights_and_frequencies_carry_each_their_own_share(mouthpiece):
    """What the wall condition leaves of a height is that of a Q, 60 times that of a frequency."""
    termination = build_termination("anechoic pipe", mouthpiece.shank_radius)
    grid = np.geomspace(100, 3000, BAND_POINTS)
    levels = [
        band_figures(grid, transfer_and_gain(mouthpiece, termination, grid, level)[1])
        for level in range(3)
    ]
    ranged = replace(mouthpiece, lowest_frequency=100.0, highest_frequency=3000.0)
    _, band, _ = mouthpiece_figures(ranged)
    shares = ((band.peak, 6e-4), (band.peak_frequency, 1e-5))
    for (figure, share), values in zip(shares, zip(*levels, strict=True), strict=False):
        mesh = float(grid_uncertainty(values))
        # and 1e-5 for the points between which the band is found
        expected = mesh + (share + 1e-5) * figure.value
        assert figure.uncertainty == pytest.approx(expected)


def test_q_and_height_of_a_sharp_peak_are_read_off_the_impedance_itself(dry_air, meshes):
    """Q = f/Δf between the half-power points, to the order of 1/Q² and of the neighbours' share."""
    pipe = solve_two_port([meshes.tube(RADIUS, LENGTH, 40, 2)], dry_air, 100, 5000)
    termination = build_termination("closed", RADIUS)

    def impedance(frequencies):
        return input_impedance(pipe, termination, frequencies)

    entry = acoustic_result(pipe, termination).resonances[0]
    (row, *_) = _peaks(pipe, termination, 0)
    found = (entry.frequency, entry.Q, entry.impedance_peak)
    assert tuple(row) == tuple(figure.value for figure in found)
    frequency, quality, height = row
    near = frequency * (1 + np.linspace(-2, 2, 40001) / quality)
    size = np.abs(impedance(near))
    inside = near[size >= np.sqrt(0.5) * size.max()]
    assert quality == pytest.approx(frequency / (inside[-1] - inside[0]), rel=1e-2)
    assert quality > 20
    assert height == pytest.approx(np.abs(impedance(np.array([frequency]))[0]), rel=1e-12)
    assert frequency == pytest.approx(near[np.argmax(size)], abs=near[1] - near[0])


def test_every_share_of_a_resonances_uncertainty_is_counted_once(mouthpiece, dry_air):
    """Mesh, reduced basis, wall condition, and the next term of the wall condition's series."""
    results = acoustic_result(mouthpiece, build_termination("closed", mouthpiece.shank_radius))
    throat = 1.83e-3  # the most curved wall
    for entry in results.resonances:
        omega = 2 * np.pi * entry.frequency.value
        layer = np.sqrt(dry_air.viscosity / (dry_air.density * omega)) / throat
        series = 13 / 32 * layer**5
        for name, figure, truncated in (
            ("frequency_Hz", entry.frequency, series * layer),
            ("Q", entry.Q, series),
            ("impedance_peak_Pa_s_per_m3", entry.impedance_peak, series),
        ):
            share = results.reduced_basis.held_out_error + results.wall_share[name]
            beside = figure.uncertainty - float(grid_uncertainty(figure.levels))
            left = beside / figure.value - share
            # what is left is tiny beside the sum it is taken from, of which rounding takes 1e-14
            assert left == pytest.approx(truncated, rel=0.1, abs=1e-14)
    reported = results.truncation_share
    omega = 2 * np.pi * results.resonances[0].frequency.value
    layer = np.sqrt(dry_air.viscosity / (dry_air.density * omega)) / throat
    assert reported["Q"] == pytest.approx(13 / 32 * layer**5, rel=0.1)
    assert reported["frequency_Hz"] == pytest.approx(13 / 32 * layer**6, rel=0.1)


def test_slices_of_an_air_column_are_counted_besides(mouthpiece):
    radius = mouthpiece.shank_radius
    column = air_column(np.array([0.0, 0.4]), np.full(2, radius), "closed")
    found = {}
    for kind in ("air column", "closed"):
        termination = build_termination(kind, radius, column=column)
        found[kind] = acoustic_result(mouthpiece, termination).truncation_share
    for name, share in SLICES_SHARE.items():
        # the series' share besides, which falls with the frequency of the first peak
        assert share < found["air column"][name] < share + 1e-4
        assert found["closed"][name] < share
