"""Sounds: what a transfer makes of known oscillations, and what is in a file."""

import io
import wave

import numpy as np
import pytest
from scipy.io import wavfile

from borestudy.playing.sound import LEVEL, MATCHED, RATE, behind, wav

STEP = 1 / (4 * RATE)
FREQUENCIES = np.linspace(50.0, 4000.0, 800)
#: A delay of a millisecond, half as strong.
TRANSFER = 0.5 * np.exp(-2j * np.pi * FREQUENCIES * 1e-3)


def test_oscillations_within_the_range_go_through_and_others_do_not():
    time = STEP * np.arange(RATE * 2)
    flow = sum(np.sin(2 * np.pi * hertz * time) for hertz in (10.0, 440.0, 1900.0, 6000.0))
    found = behind(flow, STEP, FREQUENCIES, TRANSFER)
    at = np.arange(len(found)) / RATE
    assert len(found) == RATE // 2
    expected = sum(0.5 * np.sin(2 * np.pi * hertz * (at - 1e-3)) for hertz in (440.0, 1900.0))
    # away from both ends, where the flow starts and breaks off
    middle = slice(RATE // 10, -RATE // 10)
    assert np.max(np.abs(found - expected)[middle]) < 0.01


def test_near_the_top_of_the_range_a_sound_is_lessened():
    time = STEP * np.arange(RATE)
    # in the middle of the taper, from 3600 to 4000 Hz
    found = behind(np.sin(2 * np.pi * 3800.0 * time), STEP, FREQUENCIES, TRANSFER)
    assert np.max(np.abs(found[2000:-2000])) == pytest.approx(0.25, rel=0.02)


def test_a_step_that_is_no_share_of_a_sample_is_refused():
    with pytest.raises(ValueError, match="for example 1/96000"):
        behind(np.ones(10), 1 / 50000, FREQUENCIES, TRANSFER)


def samples_of(file):
    with wave.open(io.BytesIO(file)) as reader:
        assert reader.getparams()[:3] == (1, 2, RATE)
        return np.frombuffer(reader.readframes(reader.getnframes()), dtype="<i2") / 32767


@pytest.mark.parametrize("strength", [1e-3, 4.0, 3e4])
def test_sounds_are_matched_in_level(strength):
    tone = strength * np.sin(2 * np.pi * 330.0 * np.arange(RATE) / RATE)
    found = samples_of(wav(tone))
    end = found[-int((MATCHED + 0.05) * RATE) : -int(0.05 * RATE)]
    assert np.sqrt(np.mean(end**2)) == pytest.approx(LEVEL, rel=1e-3)
    assert len(found) == len(tone)
    # it fades in and out
    assert np.max(np.abs(found[:10])) < 0.01
    assert np.max(np.abs(found[-100:])) < 0.01


def test_a_sound_of_great_peaks_fits():
    tone = np.zeros(RATE)
    tone[::480] = 1.0
    assert np.max(samples_of(wav(tone))) == pytest.approx(1.0, abs=1e-4)


def test_silence_is_silent():
    assert not np.any(samples_of(wav(np.zeros(RATE))))


def test_another_reader_of_such_files_reads_the_same():
    tone = np.sin(2 * np.pi * 330.0 * np.arange(RATE) / RATE)
    rate, found = wavfile.read(io.BytesIO(wav(tone)))
    assert rate == RATE
    assert np.array_equal(found / 32767, samples_of(wav(tone)))
