"""A case's tone on a mouthpiece of three pipes before a long one, all in closed form."""

import io
import wave
from dataclasses import replace

import numpy as np
import pytest

from borestudy.air import Air
from borestudy.closed_form.air_column import air_column, entrance_state
from borestudy.closed_form.tube import impedance_matrix, transfer_matrix
from borestudy.intervals import cents
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.onset import least_thresholds
from borestudy.playing.sound import DURATION, LEVEL, RATE
from borestudy.playing.steady import SteadyDrop
from borestudy.quantity import Quantity
from borestudy.results.onset import NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.tone import ToneAtLevel
from borestudy.results.tone_in_time import (
    BEYOND,
    GOOD,
    OTHER_REGISTER,
    SILENT,
    cautions,
    tone_result,
)

#: Dry air at 20 °C: ISO 2533 and handbook values, from memory.
AIR = Air(1.204, 343.2, 1.81e-5, 0.0257, 1006.0, 1.4)
FREQUENCIES = np.arange(30.0, 2000.0, 0.5)
OMEGA = 2 * np.pi * FREQUENCIES
#: Of the throat: 2 kPa at 0.5 L/s, all of it from the square of the flow.
STEADY = SteadyDrop.of([2e-4, 5e-4], [320.0, 2000.0], [3.2e6, 8e6])
REGISTER = 4
SOFT, LOUD = 1.2, 2.0


def made_up_load(depth):
    """Cup, throat cut in its middle, backbore, and a pipe of the length of a trumpet."""
    column = air_column(np.array([0.0, 1.35]), np.array([5.8e-3, 5.8e-3]), "open unflanged")
    state = entrance_state(column, OMEGA, AIR)
    cup = transfer_matrix(8e-3, depth, OMEGA, AIR)
    throat = transfer_matrix(1.9e-3, 4e-3, OMEGA, AIR)
    backbore = throat @ transfer_matrix(3.6e-3, 60e-3, OMEGA, AIR)
    before = (backbore @ state[:, :, None])[:, :, 0]
    return Load(
        frequencies=FREQUENCIES,
        front=impedance_matrix(cup @ throat),
        behind=before[:, 0] / before[:, 1],
        to_shank=state[:, 0] / before[:, 0],
        correction=np.zeros(len(OMEGA), dtype=complex),
        steady=STEADY,
        throat_diameter=3.8e-3,
        density=AIR.density,
    )


@pytest.fixture(scope="module")
def loads():
    """Two meshes, of which the coarser has the cup's depth off by a part in ten thousand."""
    return [made_up_load(9.2e-3 * 1.0001), made_up_load(9.2e-3)]


@pytest.fixture(scope="module")
def onset(loads):
    """Registers as far as the lips start them, with thresholds that are known to a thousandth."""
    (found,) = least_thresholds(loads[-1], [Lips()], 6)

    def row(number, one):
        if one is None:
            return OnsetOfRegister(register=number, validity=NO_TONE)
        return OnsetOfRegister(
            register=one.register,
            validity="",
            peak_frequency=Quantity(one.peak_frequency, 0.01, "Hz"),
            mouth_pressure=Quantity(one.mouth_pressure, 1e-3 * one.mouth_pressure, "Pa"),
            sounding_frequency=Quantity(one.frequency, 0.01, "Hz"),
            sounding_above_peak=Quantity(
                float(cents(one.frequency / one.peak_frequency)), 0.05, "cents"
            ),
            lips_frequency=Quantity(one.lips_frequency, 0.01, "Hz"),
            flow_rate=Quantity(1e3 * one.flow_rate, 1e-4, "L_per_s"),
            throat_resistance=Quantity(1e-6 * one.throat_resistance, 1e-3, "kPa_s_per_L"),
        )

    return OnsetResult(registers=tuple(row(*pair) for pair in enumerate(found, start=1)))


@pytest.fixture(scope="module")
def solved(loads, onset):
    return tone_result(loads, Lips(), onset, REGISTER, SOFT, LOUD)


def levels_of(solved):
    return {one.level: one for one in solved[0].at_levels}


def test_the_tone_starts_at_the_threshold_of_the_impedance_itself(solved, onset):
    tone = solved[0]
    threshold = onset.registers[REGISTER - 1].mouth_pressure.value
    # modes that are fitted to a part in a thousand, against the impedance
    assert tone.starts_at.value == pytest.approx(threshold, rel=1e-3)
    assert tone.threshold.value == threshold
    assert tone.fit_deviation_percent < 0.1
    assert tone.register == REGISTER
    assert tone.growth_rate.value > 0


def test_the_tone_goes_on_below_where_it_starts(solved):
    tone = solved[0]
    assert tone.ends_at.value + tone.ends_at.uncertainty < tone.starts_at.value
    rising = dict(zip(tone.rising_mouth_pressure_Pa, tone.rising_cup_pressure_Pa, strict=True))
    falling = dict(zip(tone.falling_mouth_pressure_Pa, tone.falling_cup_pressure_Pa, strict=True))
    for pressure, cup in rising.items():
        assert (cup > 0) == (pressure > tone.starts_at.value)
    for pressure, cup in falling.items():
        assert (cup > 0) == (pressure > tone.ends_at.value)
    silent = [at is None for at in tone.falling_frequency_Hz]
    assert silent == [cup == 0 for cup in tone.falling_cup_pressure_Pa]
    # well above its start the tone is the same from either side, as far as it has settled
    for pressure in set(rising) & set(falling):
        if pressure > 1.1 * tone.starts_at.value:
            assert falling[pressure] == pytest.approx(rising[pressure], rel=5e-3)
    assert max(rising) == pytest.approx(LOUD * tone.threshold.value)


@pytest.mark.parametrize("level", ["soft", "loud"])
def test_pressures_in_cup_and_shank_are_those_of_one_flow(solved, loads, level):
    one, load = levels_of(solved)[level], loads[-1]
    multiples = one.sounding_frequency.value * np.arange(1, 1 + len(one.cup_harmonics_dB))
    assert multiples[-1] < FREQUENCIES[-1] < multiples[-1] + multiples[0]
    resistance = STEADY.slope(1e-3 * onset_flow(solved, load))
    ratio = load.shank_pressure(resistance) / load.impedance(resistance)
    expected = 20 * np.log10(np.abs(np.interp(multiples, FREQUENCIES, np.abs(ratio))))
    found = np.subtract(one.shank_harmonics_dB, one.cup_harmonics_dB)
    # 0.1 % of the modal fit, and as much of what is between the samples
    assert np.allclose(found, expected, atol=20 * np.log10(1.002))


def onset_flow(solved, load):
    """Flow rate [L/s] of the least threshold in the tone's register."""
    ((*_, one),) = least_thresholds(load, [Lips()], solved[0].register)
    return 1e3 * one.flow_rate


def test_levels_are_multiples_of_the_threshold_and_louder_means_more(solved):
    soft, loud = levels_of(solved).values()
    assert soft.mouth_pressure_Pa == pytest.approx(SOFT * solved[0].threshold.value)
    assert loud.mouth_pressure_Pa == pytest.approx(LOUD * solved[0].threshold.value)
    assert loud.cup_pressure.value > soft.cup_pressure.value
    assert soft.validity == loud.validity == GOOD
    for one in (soft, loud):
        power = np.sum(10 ** (np.array(one.cup_harmonics_dB) / 10)) * 20e-6**2
        # what is above the range is left out
        assert 0.98 < np.sqrt(power) / one.cup_pressure.value <= 1.001
        assert one.cup_centroid.value > one.sounding_frequency.value


def test_uncertainty_covers_mesh_and_time_step(solved):
    for one in levels_of(solved).values():
        coarse, fine = one.sounding_frequency.levels
        assert fine == one.sounding_frequency.value
        assert 0 < abs(coarse - fine) < one.sounding_frequency.uncertainty
        assert one.sounding_frequency.uncertainty < 0.1
        assert one.sounding_above_peak.uncertainty >= 0.05


def samples_of(file):
    with wave.open(io.BytesIO(file)) as reader:
        assert reader.getframerate() == RATE
        return np.frombuffer(reader.readframes(reader.getnframes()), dtype="<i2") / 32767


def test_sounds_are_the_tones_at_the_same_level(solved):
    sounds = solved[1]
    assert set(sounds) == {one.sound for one in solved[0].at_levels}
    for level, one in levels_of(solved).items():
        heard = samples_of(sounds[f"tone-{level}.wav"])
        assert len(heard) == DURATION * RATE
        late = heard[-RATE // 2 : -RATE // 10]
        assert np.sqrt(np.mean(late**2)) == pytest.approx(LEVEL, rel=0.01)
        spectrum = np.abs(np.fft.rfft(late * np.hanning(len(late)), 16 * len(late)))
        bins = RATE / (16 * len(late))
        assert np.argmax(spectrum) * bins == pytest.approx(one.sounding_frequency.value, abs=bins)


def test_one_mesh_gives_the_same_sound_bit_by_bit_and_says_what_is_not_known(solved, loads, onset):
    few = replace(onset, note="of a made-up bore", registers=onset.registers[:REGISTER])
    tone, sounds = tone_result(loads[-1:], Lips(), few, 9, 0.3, LOUD)
    assert tone.register == REGISTER
    assert tone.note == "of a made-up bore; register 9 has no tone: register 4 in its place"
    soft, loud = tone.at_levels
    assert sounds == {"tone-loud.wav": solved[1]["tone-loud.wav"]}
    assert loud.sounding_frequency.uncertainty is None
    assert tone.growth_rate.uncertainty is None
    # far below where a tone ends
    assert soft.validity == SILENT
    assert soft.sounding_frequency is soft.sound is None
    assert tone.growth_rate.value < 0


def test_no_register_with_a_tone_is_a_result_that_says_so(loads):
    silent = OnsetResult(registers=(OnsetOfRegister(register=1, validity=NO_TONE),))
    tone, sounds = tone_result(loads, Lips(), silent, 4, SOFT, LOUD)
    assert tone.note == NO_TONE
    assert tone.at_levels == ()
    assert sounds == {}


@pytest.mark.parametrize(
    ("pressure", "pitch", "words"),
    [
        (3000.0, 470.0, []),
        (3000.0, 420.0, []),
        (3000.0, 360.0, [OTHER_REGISTER]),
        (3000.0, 590.0, [OTHER_REGISTER]),
        (21000.0, 470.0, [BEYOND]),
        (3000.0, None, []),
    ],
)
def test_a_tone_elsewhere_than_asked_for_says_so(pressure, pitch, words):
    registers = tuple(
        OnsetOfRegister(register=number, validity="", peak_frequency=Quantity(peak, 0.1, "Hz"))
        for number, peak in ((3, 345.0), (4, 460.0), (5, 580.0))
    )
    level = ToneAtLevel(
        level="soft",
        times_threshold=SOFT,
        mouth_pressure_Pa=pressure,
        validity="",
        sounding_frequency=None if pitch is None else Quantity(pitch, 0.1, "Hz"),
    )
    assert cautions(level, OnsetResult(registers=registers), registers[1]) == words
