"""What a case's lips need for a tone to start, with its numerical uncertainty.

A figure's uncertainty has four parts.  From mesh to mesh it is as for every figure of a mesh
(`borestudy.fem.uncertainty`).  To that are added: what the wall condition leaves out, as for an
impedance peak, since a threshold goes at most as the losses do, and the distance of the sounding
frequency from the peak too; the change that half as many frequencies make; and the change that the
numerical uncertainty of the steady pressure drop makes.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.uncertainty import SLICES_SHARE, WALL_SHARE, levels_quantity
from borestudy.intervals import cents
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.onset import (
    Threshold,
    ThresholdCurve,
    least_thresholds,
    peak_frequencies,
    thinned,
    threshold_curve,
)
from borestudy.playing.registers import registers_of
from borestudy.playing.steady import SteadyDrop
from borestudy.quantity import Quantity
from borestudy.results.onset import HIGHEST_PRESSURE, NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.stream import NOT_QUASI_STEADY, QUASI_STEADY_BELOW, RESISTANCE_UNIT

#: What a register's word can be besides `NO_TONE` and `NOT_QUASI_STEADY`.
BEYOND_THE_RATES = "flow beyond the rates that were solved"
#: Of a register without a figure: the range of frequencies ends before it, or the pressure is least
#: where the next register begins.
BEYOND_THE_RANGE = "no least threshold within the range of frequencies"
NONE_OF_ITS_OWN = "no least threshold between the dips of the impedance"
BEYOND_THE_TERMINATION = "above the frequencies that the termination is trusted at"
#: Share of a peak's height that is left where a register's sounding frequencies end at the latest.
END_OF_FLANK = 0.1
#: L/s in m³/s.
RATE_UNIT = 1e-3
REGISTERS = 12
#: Points of a register's curve at most.
CURVE_POINTS = 60
#: Share within which peaks of two meshes are the same one.
SAME_PEAK = 0.05
#: What no finer mesh takes away, as shares: of a frequency, and of heights and Q.
OF_FREQUENCY, OF_LOSSES = (
    WALL_SHARE[key] + SLICES_SHARE[key] for key in ("frequency_Hz", "impedance_peak_Pa_s_per_m3")
)


def onset_result(
    loads: Sequence[Load],
    own: Lips,
    others: Sequence[Lips],
    behind: str = "",
    note: str = "",
    higher: SteadyDrop | None = None,
    trusted_below: float = math.inf,
) -> OnsetResult:
    """Least thresholds of a case in its registers, at most `REGISTERS` of them.

    Parameters
    ----------
    loads : sequence of Load
        What the lips blow into, on each mesh, coarsest first.
    own : Lips
        The study's lips.
    others : sequence of Lips
        The set of lips that the study's are one of many against.
    behind, note : str
        What is behind the shank, and what a reader must be told of it.
    higher : SteadyDrop, optional
        The steady drop with its numerical uncertainty added, where that is known.
    trusted_below : float [Hz]
        Above this the model of the termination no longer holds.
    """
    finest = loads[-1]
    of_all = least_thresholds(finest, [own, *others], REGISTERS)
    on_meshes = [*(_alone(load, own) for load in loads[:-1]), of_all[0]]
    still = [_alone(replace(load, steady=SteadyDrop.none()), own) for load in loads]
    varied = [_alone(thinned(finest), own)]
    if higher is not None:
        varied.append(_alone(replace(finest, steady=higher), own))
    peaks = [peak_frequencies(load, REGISTERS) for load in loads]
    registers = []
    for place, peak in enumerate(peaks[-1]):
        near = [_nearest(each, peak) for each in peaks]
        known = _Known(
            np.array(
                [math.nan if at is None else each[at] for each, at in zip(peaks, near, strict=True)]
            ),
            _paired(on_meshes, near),
            _paired(still, near),
            [each[place] if place < len(each) else None for each in varied],
        )
        of_set = [_sounding(each[place]) for each in of_all[1:]]
        registers.append(
            replace(
                _row(place + 1, known, finest, own, trusted_below),
                set_mouth_pressure_Pa=tuple(
                    None if one is None else one.mouth_pressure for one in of_set
                ),
                set_sounding_frequency_Hz=tuple(
                    None if one is None else one.frequency for one in of_set
                ),
            )
        )
    return OnsetResult(behind=behind, note=note, registers=tuple(registers))


@dataclass(frozen=True)
class _Known:
    """What was found of a register: on each mesh, and of the finest with something varied."""

    peaks: NDArray[np.float64]
    on_meshes: Sequence[Threshold | None]
    still: Sequence[Threshold | None]
    varied: Sequence[Threshold | None]

    def quantity(
        self, figure: Callable[[Threshold], float], unit: str, share: float
    ) -> Quantity | None:
        """A figure of the threshold, with all parts of its uncertainty."""
        found = levels_quantity(_figures(self.on_meshes, figure), unit, share)
        if found is None or found.uncertainty is None:
            return found
        changes = np.abs(_figures(self.varied, figure) - found.value)
        known = bool(np.isfinite(changes).all())
        return replace(found, uncertainty=found.uncertainty + changes.sum() if known else None)


def _alone(load: Load, own: Lips) -> list[Threshold | None]:
    return least_thresholds(load, [own], REGISTERS)[0]


def _nearest(peaks: Sequence[float], wanted: float) -> int | None:
    """Place of the same peak among those of another mesh."""
    if not peaks:
        return None
    away = np.abs(np.array(peaks) / wanted - 1)
    place = int(np.argmin(away))
    return place if away[place] < SAME_PEAK else None


def _paired(
    on_meshes: Sequence[Sequence[Threshold | None]], places: Sequence[int | None]
) -> list[Threshold | None]:
    """Of each mesh the threshold of the register that has a place among its own."""
    pairs = zip(on_meshes, places, strict=True)
    return [None if place is None else found[place] for found, place in pairs]


def _sounding(threshold: Threshold | None) -> Threshold | None:
    """The same where it is low enough to count."""
    if threshold is None or threshold.mouth_pressure > HIGHEST_PRESSURE:
        return None
    return threshold


def _figures(
    thresholds: Sequence[Threshold | None], figure: Callable[[Threshold], float]
) -> NDArray[np.float64]:
    return np.array([math.nan if one is None else figure(one) for one in thresholds])


def _row(
    number: int, known: _Known, load: Load, own: Lips, trusted_below: float
) -> OnsetOfRegister:
    """A register's row with the study's own lips."""
    peak = levels_quantity(known.peaks, "Hz", OF_FREQUENCY)
    found = _sounding(known.on_meshes[-1])
    curve = threshold_curve(load, own, number)
    if found is None:
        why = NO_TONE if known.on_meshes[-1] is not None else why_none(number, curve, load)
        return OnsetOfRegister(register=number, validity=why, peak_frequency=peak)
    # losses move the sounding frequency by as much of its distance from the peak and the lips'
    apart = abs(found.frequency / found.peak_frequency - 1)
    sounding = OF_FREQUENCY + OF_LOSSES * apart
    of_lips = sounding + OF_LOSSES * abs(found.lips_frequency / found.frequency - 1)
    area = math.pi * load.throat_diameter**2 / 4
    strouhal = found.frequency * load.throat_diameter * area / found.flow_rate
    still = levels_quantity(_figures(known.still, _pressure), "Pa", OF_LOSSES)
    if still is not None and still.uncertainty is not None:
        # the samples of frequency do as much as they do with the stream
        thinner = abs(_figures(known.varied[:1], _pressure)[0] - found.mouth_pressure)
        wider = still.uncertainty + thinner
        still = replace(still, uncertainty=wider if math.isfinite(wider) else None)
    words = {
        BEYOND_THE_RATES: _is_beyond_the_rates(found, load),
        NOT_QUASI_STEADY: strouhal > QUASI_STEADY_BELOW,
        BEYOND_THE_TERMINATION: found.frequency > trusted_below,
    }
    kept = _of_curve(curve)
    return OnsetOfRegister(
        register=number,
        validity="; ".join(word for word, applies in words.items() if applies),
        peak_frequency=peak,
        mouth_pressure=known.quantity(_pressure, "Pa", OF_LOSSES),
        sounding_frequency=known.quantity(lambda one: one.frequency, "Hz", sounding),
        sounding_above_peak=known.quantity(
            lambda one: float(cents(one.frequency / one.peak_frequency)), "cents", OF_LOSSES
        ),
        lips_frequency=known.quantity(lambda one: one.lips_frequency, "Hz", of_lips),
        flow_rate=known.quantity(lambda one: one.flow_rate / RATE_UNIT, "L_per_s", OF_LOSSES),
        throat_resistance=known.quantity(
            lambda one: one.throat_resistance / RESISTANCE_UNIT, "kPa_s_per_L", OF_LOSSES
        ),
        mouth_pressure_without_stream=still,
        strouhal=strouhal,
        curve_lips_frequency_Hz=tuple(curve.lips_frequency[kept].tolist()),
        curve_mouth_pressure_Pa=tuple(curve.mouth_pressure[kept].tolist()),
        curve_sounding_frequency_Hz=tuple(curve.frequency[kept].tolist()),
    )


def _pressure(threshold: Threshold) -> float:
    return threshold.mouth_pressure


def why_none(number: int, curve: ThresholdCurve, load: Load) -> str:
    """Why a register has no least threshold."""
    pressure, impedance = curve.mouth_pressure, np.abs(load.impedance())
    register = registers_of(impedance)[number - 1]
    # the range ends on the flank of the peak, where the pressure falls or nothing sounds yet
    flank = register.last == len(impedance) - 1
    flank &= bool(impedance[-1] > END_OF_FLANK * impedance[register.peak])
    if flank and (len(pressure) == 0 or np.argmin(pressure) == len(pressure) - 1):
        return BEYOND_THE_RANGE
    return NONE_OF_ITS_OWN if np.any(pressure <= HIGHEST_PRESSURE) else NO_TONE


def _is_beyond_the_rates(found: Threshold, load: Load) -> bool:
    """Whether a flow is greater than the greatest with a known drop, where any is known."""
    steady = load.steady
    return bool(np.any(steady.drops != 0)) and found.flow_rate > steady.greatest_rate


def _of_curve(curve: ThresholdCurve) -> NDArray[np.int64]:
    """Places of some points of a curve that are low enough to count, around the least.

    Where the lips' resonance goes back while the frequency that sounds still rises, these lips
    start to sound at a lower pressure and frequency.
    """
    rises = np.concatenate([[True], np.diff(curve.lips_frequency) > 0])
    counts = (curve.mouth_pressure <= HIGHEST_PRESSURE) & rises
    least = int(np.argmin(curve.mouth_pressure))
    if not counts[least]:
        return np.zeros(0, dtype=np.int64)
    gaps = np.flatnonzero(~counts)
    before, after = gaps[gaps < least], gaps[gaps > least]
    first = int(before[-1]) + 1 if len(before) else 0
    end = int(after[0]) if len(after) else len(counts)
    count = min(CURVE_POINTS, end - first)
    return np.linspace(first, end - 1, count).astype(np.int64)
