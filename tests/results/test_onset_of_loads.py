"""A case's onset from made-up loads: parts of its uncertainty, its words, its curve."""

import math
from dataclasses import replace

import numpy as np
import pytest

from borestudy.acoustics.uncertainty import SLICES_SHARE, WALL_SHARE
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.playing.lips import Lips, lips_set
from borestudy.playing.load import Load
from borestudy.playing.onset import ThresholdCurve, least_thresholds, thinned
from borestudy.playing.steady import SteadyDrop
from borestudy.results.onset import NO_TONE, OnsetOfRegister, OnsetResult
from borestudy.results.onset_of_loads import (
    BEYOND_THE_RANGE,
    BEYOND_THE_RATES,
    BEYOND_THE_TERMINATION,
    NONE_OF_ITS_OWN,
    onset_result,
    why_none,
)
from borestudy.results.stream import NOT_QUASI_STEADY

LIPS, OTHERS = Lips(), lips_set(10)
FREQUENCIES = np.linspace(80.0, 900.0, 1000)
STREAM = SteadyDrop.of([4e-4, 8e-4], [1e3, 4e3], [5e6, 10e6])
#: Of two modes: frequency [Hz], Q, height [Pa·s/m³].
MODES = ((200.0, 25.0, 9e7), (420.0, 30.0, 6e7))


def load_of(stretched=1.0, steady=STREAM, modes=MODES, diameter=3.7e-3):
    """A load of two modes, whose frequencies are stretched."""
    impedance = np.zeros(len(FREQUENCIES), dtype=complex)
    for frequency, quality, height in modes:
        ratio = FREQUENCIES / (stretched * frequency)
        impedance += height / (1 + 1j * quality * (ratio - 1 / ratio))
    behind = 4e7
    front = np.zeros((len(FREQUENCIES), 2, 2), dtype=complex)
    front[:, 0, 0], front[:, 0, 1], front[:, 1, 0] = impedance + behind, behind, behind
    ones = np.ones(len(FREQUENCIES), dtype=complex)
    return Load(FREQUENCIES, front, behind * ones, ones, 0 * ones, steady, diameter, 1.2)


def meshes(**more):
    """The same on three meshes, whose frequencies come nearer by order 4/3."""
    errors = 1e-3 * 1.5 ** (-4 / 3 * np.arange(3))
    return [load_of(1 + error, **more) for error in errors]


@pytest.fixture(scope="module")
def found() -> OnsetResult:
    higher = replace(STREAM, drops=1.02 * STREAM.drops, slopes=1.02 * STREAM.slopes)
    return onset_result(meshes(), LIPS, OTHERS, "two modes", "invented", higher)


def test_it_says_what_is_behind_and_has_a_row_for_each_peak(found):
    assert (found.behind, found.note) == ("two modes", "invented")
    assert [one.register for one in found.registers] == [1, 2]
    for row, (frequency, *_) in zip(found.registers, MODES, strict=True):
        assert row.peak_frequency.value == pytest.approx(frequency, rel=0.02)


def test_values_are_those_of_the_finest_mesh_and_levels_those_of_each(found):
    on_meshes = [least_thresholds(load, [LIPS])[0] for load in meshes()]
    still = [
        least_thresholds(load, [LIPS])[0] for load in meshes(steady=SteadyDrop.none())
    ]  # fmt: skip
    for place, row in enumerate(found.registers):
        of = [each[place] for each in on_meshes]
        without = [each[place].mouth_pressure for each in still]
        assert row.mouth_pressure.levels == pytest.approx([one.mouth_pressure for one in of])
        assert row.sounding_frequency.levels == pytest.approx([one.frequency for one in of])
        assert row.mouth_pressure_without_stream.levels == pytest.approx(without)
        finest = of[-1]
        assert row.mouth_pressure.value == pytest.approx(finest.mouth_pressure)
        assert row.lips_frequency.value == pytest.approx(finest.lips_frequency)
        assert row.flow_rate.value == pytest.approx(1e3 * finest.flow_rate)
        assert row.throat_resistance.value == pytest.approx(1e-6 * finest.throat_resistance)
        ratio = finest.frequency / finest.peak_frequency
        assert row.sounding_above_peak.value == pytest.approx(1200 * math.log2(ratio))
        speed = finest.flow_rate / (math.pi / 4 * 3.7e-3**2)
        assert row.strouhal == pytest.approx(finest.frequency * 3.7e-3 / speed)


def test_the_uncertainty_has_the_parts_of_mesh_walls_samples_and_steady_drop(found):
    finest = meshes()[-1]
    higher = replace(STREAM, drops=1.02 * STREAM.drops, slopes=1.02 * STREAM.slopes)
    varied = [
        least_thresholds(load, [LIPS])[0]
        for load in (thinned(finest), replace(finest, steady=higher))
    ]
    key = "impedance_peak_Pa_s_per_m3"
    for place, row in enumerate(found.registers):
        quantity = row.mouth_pressure
        changes = [abs(each[place].mouth_pressure - quantity.value) for each in varied]
        assert changes[1] > 0.002 * quantity.value
        mesh = float(grid_uncertainty(quantity.levels))
        walls = (WALL_SHARE[key] + SLICES_SHARE[key]) * quantity.value
        assert quantity.uncertainty == pytest.approx(mesh + walls + sum(changes), rel=1e-6)
        # whoever knows the drop exactly has that much less
        known = onset_result(meshes(), LIPS, []).registers[place].mouth_pressure
        assert known.uncertainty == pytest.approx(mesh + walls + changes[0], rel=1e-6)


def test_one_mesh_has_no_uncertainty():
    (row, _) = onset_result([load_of()], LIPS, []).registers
    assert row.mouth_pressure.value > 0
    assert row.mouth_pressure.uncertainty is None
    assert row.mouth_pressure_without_stream.uncertainty is None


def test_the_set_has_an_entry_for_each_of_its_lips_in_its_order(found):
    alone = least_thresholds(meshes()[-1], OTHERS)
    silent = 0
    for place, row in enumerate(found.registers):
        assert len(row.set_mouth_pressure_Pa) == len(row.set_sounding_frequency_Hz) == len(OTHERS)
        for each, pressure, frequency in zip(
            alone, row.set_mouth_pressure_Pa, row.set_sounding_frequency_Hz, strict=True
        ):
            of = each[place]
            if of is None or of.mouth_pressure > 20e3:
                assert pressure is None
                assert frequency is None
                silent += 1
            else:
                assert pressure == pytest.approx(of.mouth_pressure)
                assert frequency == pytest.approx(of.frequency)
    assert 0 < silent < 2 * len(OTHERS)


def words(row: OnsetOfRegister) -> set[str]:
    return set(filter(None, row.validity.split("; ")))


def test_words_say_what_is_beyond_what_is_known():
    def of(**more):
        trusted = more.pop("trusted_below", math.inf)
        return onset_result([load_of(**more)], LIPS, [], trusted_below=trusted).registers

    assert [words(row) for row in of()] == [set(), set()]
    assert [words(row) for row in of(trusted_below=300.0)] == [set(), {BEYOND_THE_TERMINATION}]
    rates = SteadyDrop.of([1e-4], [62.5], [1.25e6])
    assert {BEYOND_THE_RATES} == words(of(steady=rates)[1])
    # of a bore without any drop nothing is extrapolated
    assert of(steady=SteadyDrop.none())[1].validity == ""
    # a wide throat: its air takes longer to pass than a fifth of a period
    assert {NOT_QUASI_STEADY} == words(of(diameter=12e-3)[1])


def test_a_register_above_20_kPa_says_that_there_is_no_oscillation():
    weak = [(frequency, quality, height / 8) for frequency, quality, height in MODES]
    row = onset_result([load_of(modes=weak)], LIPS, [LIPS]).registers[1]
    assert row.validity == NO_TONE
    assert row.peak_frequency.value == pytest.approx(420.0, rel=0.02)
    assert row.mouth_pressure is row.sounding_frequency is row.strouhal is None
    assert row.curve_mouth_pressure_Pa == ()
    assert row.set_mouth_pressure_Pa == row.set_sounding_frequency_Hz == (None,)


# just above the peak no lips sound yet, and nearer to the least threshold the pressure still falls
@pytest.mark.parametrize("above_the_peak", [1.02, 1.06])
def test_a_range_that_ends_before_the_least_threshold_says_so(above_the_peak):
    whole = load_of()
    kept = whole.frequencies < above_the_peak * MODES[1][0]
    names = ("frequencies", "front", "behind", "to_shank", "correction")
    cut = replace(whole, **{name: getattr(whole, name)[kept] for name in names})
    row = onset_result([cut], LIPS, [LIPS]).registers[1]
    assert row.validity == BEYOND_THE_RANGE
    assert row.mouth_pressure is None
    assert row.set_mouth_pressure_Pa == (None,)


def test_a_register_without_a_minimum_says_whether_there_is_a_tone_in_it():
    whole, names = load_of(), ("frequencies", "front", "behind", "to_shank", "correction")
    kept = whole.frequencies < 1.06 * MODES[1][0]
    cut = replace(whole, **{name: getattr(whole, name)[kept] for name in names})

    def why(number, *pressures, load=cut):
        of = np.array(pressures, dtype=float)
        return why_none(number, ThresholdCurve(np.arange(len(of)) + 430.0, of, of), load)

    # in the first register of two the pressure falls to where the second begins
    assert why(1, 9e3, 8e3, 7e3) == NONE_OF_ITS_OWN
    assert why(1, 90e3, 80e3, 70e3) == why(1) == NO_TONE
    # on the flank of the last one the range ends
    assert why(2, 90e3, 80e3, 70e3) == why(2) == BEYOND_THE_RANGE
    assert why(2, 7e3, 8e3, 9e3) == NONE_OF_ITS_OWN
    assert why(2, 70e3, 80e3, 90e3) == NO_TONE
    # far above the peak nothing more is to come
    assert why(2, load=whole) == NO_TONE


def test_the_curve_goes_up_from_the_least_threshold_to_either_side(found):
    for row in found.registers:
        lips, pressure, sounding = (
            np.array(each)
            for each in (
                row.curve_lips_frequency_Hz,
                row.curve_mouth_pressure_Pa,
                row.curve_sounding_frequency_Hz,
            )
        )
        assert 20 < len(lips) <= 60
        # a lips' resonance is there once
        assert np.all(np.diff(lips) > 0)
        assert np.all(np.diff(sounding) > 0)
        assert pressure.max() <= 20e3
        assert pressure.min() == pytest.approx(row.mouth_pressure.value, rel=2e-3)
        assert pressure.min() > row.mouth_pressure.value * (1 - 1e-9)
        near = lips[np.argmin(pressure)]
        assert near == pytest.approx(row.lips_frequency.value, rel=0.02)
