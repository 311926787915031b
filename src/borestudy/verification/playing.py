"""The start of a tone and the tone, on one mode and on a pipe, where both are known."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.air import Air
from borestudy.bore import cylinder
from borestudy.closed_form import tube
from borestudy.closed_form.lips_on_mode import LipsOnMode
from borestudy.mesh import ACOUSTICS
from borestudy.playing.growth import threshold_pressure
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.modes import Modes, fit_modes
from borestudy.playing.onset import Threshold, least_thresholds
from borestudy.playing.parabolas import parabola_factor
from borestudy.playing.periodic import (
    coefficients,
    harmonics,
    period_frequency,
    power_balances,
)
from borestudy.playing.steady import SteadyDrop
from borestudy.playing.tone import Oscillator, attack, disturbed, simulate
from borestudy.results.check import Check
from borestudy.results.loads import frequency_grid
from borestudy.verification import finest_mesh
from borestudy.verification.acoustics import (
    HIGHEST,
    LOSSY_PERCENT,
    LOWEST,
    PIPE,
    PIPE_LENGTH,
    Q_PERCENT,
    RADIATION,
    SHANK_RADIUS,
    TUBE_SOURCE,
    closed_form_impedance,
)

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]

MODE = {"mode_frequency": 466.0, "mode_quality": 30.0, "height": 40e6}
#: Lips that sound so short a pipe at pressures of players.
PIPE_LIPS = Lips(mass_per_area=0.5, quality_factor=7.0, width=8e-3, opening_at_rest=0.1e-3)
REGISTERS = 2
#: An exact equation solved twice: what a minimum and a root leave.
EXACT_PERCENT = 1e-4
#: A threshold goes with the square of a frequency, and at most in proportion to a peak's Q and
#: height, each of which the meshes may miss by so much.
THRESHOLD_PERCENT = 2 * LOSSY_PERCENT + 2 * Q_PERCENT
#: What modes may miss of a peak's impedance, and so twice that of a threshold: by height and place.
FIT_PERCENT = 0.1
GROWTH_PERCENT, PERIODIC_PERCENT = 1.0, 0.1
#: A tenth of a cent.
PITCH_PERCENT = 100 * (2 ** (0.1 / 1200) - 1)
STEP = 1 / 96000
#: Above the threshold by these factors: to grow from nothing, and to sound.
FAINT, SOUNDING = 1.05, 1.5
SECONDS = 0.4
ROOTS = "roots of a polynomial (Hurwitz 1895), lips of one mass on one mode"


def verify_playing(air: Air, resolution: str, directory: Path) -> list[Check]:
    """Start and sound tones whose pressure, pitch and growth are known."""
    return [*check_one_mode(air), *check_pipe(air, resolution, directory)]


def check_one_mode(air: Air) -> list[Check]:
    """Least threshold, sounding frequency and growth on one mode."""
    lips = Lips()
    known = LipsOnMode(
        lips.mass_per_area, lips.quality_factor, lips.width, lips.opening_at_rest,
        **MODE, density=air.density,
    )  # fmt: skip
    pressure, lips_frequency = known.least_threshold()
    frequency = known.sounding_frequency(pressure, lips_frequency)
    modes = _one_mode()
    load = _load(partial(_at, modes), air)
    found = _only(least_thresholds(load, [lips])[0])
    name = "lips on one mode"
    checks = [
        Check(name, "least threshold", "Pa", found.mouth_pressure, pressure, EXACT_PERCENT, ROOTS),
        # of a minimum the place is known to the root of what its value is
        Check(name, "frequency there", "Hz", found.frequency, frequency, 0.01, ROOTS),
    ]
    oscillator = Oscillator(lips, lips_frequency, modes, 0.0, air.density)
    growth = known.growth(FAINT * pressure, lips_frequency)
    rate, turning = _grown(oscillator, FAINT * pressure, growth.imag / (2 * np.pi))
    return [
        *checks,
        Check(name, "growth in time", "1/s", rate, growth.real, GROWTH_PERCENT, ROOTS),
        Check(name, "frequency of growth", "Hz", turning, growth.imag / (2 * np.pi), 0.01, ROOTS),
    ]


def check_pipe(air: Air, resolution: str, directory: Path) -> list[Check]:
    """Thresholds on the study's meshes, the sum of modes, and a tone in its periodic state."""
    directory.mkdir(parents=True, exist_ok=True)
    bore = cylinder(SHANK_RADIUS, PIPE_LENGTH)
    mesh = finest_mesh(bore, directory / "playing_pipe.msh", ACOUSTICS.at(resolution))
    two_port = solve_two_port([mesh], air, LOWEST, HIGHEST)
    end = build_termination("open", SHANK_RADIUS)
    load = _load(lambda frequencies: input_impedance(two_port, end, frequencies), air)
    exact = closed_form_impedance(
        partial(tube.transfer_matrix, PIPE["radius"], PIPE["length"]), "open", air
    )
    computed, known = (
        least_thresholds(one, [PIPE_LIPS], REGISTERS)[0] for one in (load, _load(exact, air))
    )
    name, source = "lips on a pipe, open", f"the same by {TUBE_SOURCE}; {RADIATION['open']}"
    checks = []
    for ours, theirs in zip(computed, known, strict=True):
        found, of = _only([ours]), _only([theirs])
        where = f"register {of.register}"
        checks += [
            Check(name, f"least threshold, {where}", "Pa", found.mouth_pressure, of.mouth_pressure,
                  THRESHOLD_PERCENT, source),
            Check(name, f"frequency there, {where}", "Hz", found.frequency, of.frequency,
                  LOSSY_PERCENT, source),
        ]  # fmt: skip
    modes = fit_modes(load.frequencies, load.impedance())
    at_peaks = modes.deviation(load.frequencies, load.impedance())[0]
    checks += [
        Check("pipe, open, as modes", "impedance at the worst peak over that fitted", "",
              1 + at_peaks, 1.0, FIT_PERCENT, "definition"),
        Check("pipe, open, as modes", "share of frequencies from 0 to infinity with Re Z > 0", "",
              float(modes.passive), 1.0, 0.0, "conservation of energy"),
    ]  # fmt: skip
    return [*checks, *_check_tone(_only(computed), modes, air)]


def _check_tone(threshold: Threshold, modes: Modes, air: Air) -> list[Check]:
    """The tone of the lowest register: where it starts, and its periodic state."""
    # The threshold's mean flow makes no pressure in the bore, nor does it here.
    offset = -modes.at_rest * threshold.flow_rate
    oscillator = Oscillator(PIPE_LIPS, threshold.lips_frequency, modes, offset, air.density)
    starts = threshold_pressure(oscillator, threshold.frequency, threshold.mouth_pressure)
    pressure = SOUNDING * threshold.mouth_pressure
    coarse, fine = (
        simulate(oscillator, attack(pressure, SECONDS, step), step) for step in (STEP, STEP / 2)
    )
    pitch, finer = (
        period_frequency(one.opening, one.step, threshold.frequency) for one in (coarse, fine)
    )
    multiples: Real = np.asarray(pitch * np.arange(1, int(HIGHEST / pitch) + 1), dtype=float)
    cup = harmonics(coarse.pressure, STEP, pitch, len(multiples))
    flow = harmonics(coarse.flow, STEP, pitch, len(multiples)) * parabola_factor(multiples, STEP)
    ratios = cup / (modes.impedance(2 * np.pi * multiples) * flow)
    worst = 1 + float(np.max(np.abs(ratios - 1)))
    bore, lips = power_balances(oscillator, coarse, pressure)
    name, law = "tone on a pipe, open", "conservation of energy"
    start = np.nan if starts is None else starts
    return [
        Check(name, "mouth pressure from which it grows", "Pa", start, threshold.mouth_pressure,
              2 * FIT_PERCENT, "threshold by frequency"),
        Check(name, "pressure over impedance times flow, worst harmonic", "", worst, 1.0,
              PERIODIC_PERCENT, "definition of impedance"),
        Check(name, "power into the bore over what it loses", "", bore[0] / bore[1], 1.0,
              PERIODIC_PERCENT, law),
        Check(name, "power on the lips over what they lose", "", lips[0] / lips[1], 1.0,
              PERIODIC_PERCENT, law),
        Check(name, "frequency", "Hz", pitch, finer, PITCH_PERCENT, "half the time step"),
    ]  # fmt: skip


def _one_mode() -> Modes:
    omega, quality = 2 * np.pi * MODE["mode_frequency"], MODE["mode_quality"]
    pole = omega * complex(-0.5 / quality, np.sqrt(1 - 0.25 / quality**2))
    gain = MODE["height"] * omega / quality
    return Modes(np.array([pole]), np.array([gain * pole / (2j * pole.imag)]))


def _at(modes: Modes, frequencies: Real) -> Complex:
    return modes.impedance(2 * np.pi * frequencies)


def _load(impedance: Callable[[Real], Complex], air: Air) -> Load:
    """Lips' load of an impedance that nothing is cut in and no steady flow meets."""
    frequencies = frequency_grid(impedance, LOWEST, HIGHEST)
    front = np.zeros((len(frequencies), 2, 2), dtype=complex)
    front[:, 0, 0] = impedance(frequencies)
    front[:, 1, 1] = 1.0
    nothing = np.zeros(len(frequencies), dtype=complex)
    return Load(
        frequencies=frequencies,
        front=front,
        behind=nothing,
        to_shank=nothing,
        correction=nothing,
        steady=SteadyDrop.none(),
        throat_diameter=2 * SHANK_RADIUS,
        density=air.density,
    )


def _only(found: list[Threshold | None]) -> Threshold:
    """The first threshold, or one that is no number and so fails."""
    none = Threshold(1, *(6 * [np.nan]))
    return found[0] if found and found[0] is not None else none


def _grown(oscillator: Oscillator, pressure: float, frequency: float) -> tuple[float, float]:
    """Rate [1/s] and frequency [Hz] with which an oscillation grows in time."""
    start = disturbed(oscillator, pressure, 1e-6)
    played = simulate(oscillator, np.full(round(SECONDS / STEP), pressure), STEP, start)
    opening = played.opening - oscillator.steady(pressure)[1]
    # The other oscillation has died away by the middle.
    length = len(opening) // 4
    first, second = (
        coefficients(opening[at : at + length], STEP, np.array([frequency]))[0]
        for at in (2 * length, 3 * length)
    )
    time = length * STEP
    turned = np.angle(second / first * np.exp(-2j * np.pi * frequency * time)) / time
    return float(np.log(abs(second / first)) / time), frequency + float(turned) / (2 * np.pi)
