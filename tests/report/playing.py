"""Made-up onsets and tones of a study's bores: numbers in closed forms, and no computation."""

import wave
from dataclasses import replace
from pathlib import Path

import numpy as np

from borestudy.quantity import Quantity
from borestudy.report.figures.case import PicturedStudy
from borestudy.results.onset import NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.tone import ToneAtLevel, ToneResult

LIPS, REGISTERS = 9, 8
#: Registers in which a bore has no tone: the last of the second bore.
SILENT = {1: (8,)}
#: Of another bore's threshold and sounding frequency to the first one's, a bore.
LOWER, HIGHER = 0.97, 1.001
SECONDS, RATE = 0.05, 48000


def onset(index: int) -> OnsetResult:
    """Thresholds that double every third register, lower from bore to bore."""
    share = 1 + 0.4 * np.linspace(-1, 1, LIPS)
    rows = []
    for register in range(1, REGISTERS + 1):
        if register in SILENT.get(index, ()):
            rows.append(OnsetOfRegister(register=register, validity=NO_TONE))
            continue
        pressure = 500 * 2 ** (register / 3) * LOWER**index
        peak = 115.0 * register
        sounding = peak * 1.02 * HIGHER**index
        rows.append(
            OnsetOfRegister(
                register=register,
                validity="within range",
                peak_frequency=Quantity(peak, 0.01, "Hz"),
                mouth_pressure=Quantity(pressure, 0.02 * pressure, "Pa"),
                sounding_frequency=Quantity(sounding, 0.05, "Hz"),
                sounding_above_peak=Quantity(1200 * np.log2(sounding / peak), 0.3, "cents"),
                lips_frequency=Quantity(0.8 * sounding, 0.05, "Hz"),
                flow_rate=Quantity(0.02 * register, 0.001, "L_per_s"),
                throat_resistance=Quantity(0.5, 0.01, "kPa_s_per_L"),
                set_mouth_pressure_Pa=tuple(pressure * share * (1 + 0.005 * index * share)),
                set_sounding_frequency_Hz=tuple(sounding * (1 + 0.01 * share * (1 - index / 50))),
            )
        )
    return OnsetResult(behind="air column", registers=tuple(rows))


def tone(index: int) -> ToneResult:
    """A tone that starts at a pressure and goes on below it, brighter from bore to bore."""
    mouth = np.linspace(1000.0, 4000.0, 13)
    starts, ends = 2000.0 - 50 * index, 1700.0 - 50 * index
    rising = np.where(mouth >= starts, np.sqrt(np.maximum(mouth - ends, 0)) * 40, 0.0)
    falling = np.where(mouth >= ends, np.sqrt(np.maximum(mouth - ends, 0)) * 40, 0.0)
    pitch = 470 + mouth / 1e3 + index
    harmonics = np.arange(1, 25)
    levels = tuple(
        ToneAtLevel(
            level=level,
            times_threshold=times,
            mouth_pressure_Pa=times * starts,
            validity="periodic",
            sounding_frequency=Quantity(470.0 + times + index, 0.01, "Hz"),
            sounding_above_peak=Quantity(30.0 + times, 0.05, "cents"),
            cup_pressure=Quantity(1000.0 * times, 1.0, "Pa"),
            cup_centroid=Quantity(600.0 * times + 10 * index, 1.0, "Hz"),
            shank_centroid=Quantity(800.0 * times + 15 * index, 1.0, "Hz"),
            cup_harmonics_dB=tuple(150 - (5 - times) * harmonics + 0.1 * index * harmonics),
            shank_harmonics_dB=tuple(140 - (4 - times) * harmonics + 0.2 * index * harmonics),
            sound=f"tone-{level}.wav",
        )
        for level, times in (("soft", 1.2), ("loud", 2.5))
    )
    return ToneResult(
        register=4,
        lips_frequency_Hz=400.0,
        threshold=Quantity(starts, 10.0, "Pa"),
        starts_at=Quantity(starts, 10.0, "Pa"),
        ends_at=Quantity(ends, 10.0, "Pa"),
        rising_mouth_pressure_Pa=tuple(mouth),
        rising_cup_pressure_Pa=tuple(rising),
        rising_frequency_Hz=tuple(
            None if cup == 0 else float(at) for cup, at in zip(rising, pitch, strict=True)
        ),
        falling_mouth_pressure_Pa=tuple(mouth[::-1]),
        falling_cup_pressure_Pa=tuple(falling[::-1]),
        falling_frequency_Hz=tuple(
            None if cup == 0 else float(at)
            for cup, at in zip(falling[::-1], pitch[::-1], strict=True)
        ),
        at_levels=levels,
    )


def with_playing(study: PicturedStudy) -> PicturedStudy:
    """The study with an onset and a tone of every bore."""
    cases = [
        replace(case, results=replace(case.results, onset=onset(index), tone=tone(index)))
        for index, case in enumerate(study.cases)
    ]
    return replace(study, cases=cases)


def write_sound(path: Path, frequency: float, seconds: float = SECONDS) -> Path:
    """A sine as a WAV file of 16 bit and 48 kHz."""
    time = np.arange(int(RATE * seconds)) / RATE
    samples = np.round(8000 * np.sin(2 * np.pi * frequency * time)).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(samples.tobytes())
    return path
