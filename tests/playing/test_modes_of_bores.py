"""Modal fits of bores that the shipped studies have, cut in the throat with a resistance there."""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import driven_at_rim, solve_two_port, two_port_matrix
from borestudy.mesh import ACOUSTICS, read_mesh
from borestudy.playing.growth import threshold_pressure
from borestudy.playing.lips import Lips
from borestudy.playing.load import Load
from borestudy.playing.modes import fit_modes
from borestudy.playing.onset import least_thresholds
from borestudy.playing.steady import SteadyDrop
from borestudy.playing.tone import Oscillator
from borestudy.stages.geometry import write_halves
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[2] / "configs"
#: A study, and the place of one of its cases.
BORES = {
    "square entry": ("entry-rounding", 0),
    "deep cup": ("overall-length", 1),
    "measured": ("measured", 0),
}
#: From a soft note to a loud one through a narrow throat [Pa·s/m³].
RESISTANCES = (0.5e6, 3e6, 1e7)
COLUMN = CONFIGS / "air-column.csv"


@pytest.fixture(scope="module", params=BORES)
def halves(request, tmp_path_factory):
    """The two halves of a bore, each solved on a coarse mesh."""
    study, place = BORES[request.param]
    case = load_study(CONFIGS / f"{study}.yaml").cases()[place]
    folder = tmp_path_factory.mktemp("halves")
    paths = [folder / "front.msh", folder / "back.msh"]
    write_halves(case.build_bore(), paths, ACOUSTICS.at("coarse"))
    air = case.build_air()
    return [solve_two_port([read_mesh(path)], air, 50.0, 5000.0) for path in paths]


@pytest.fixture(scope="module")
def blown(halves):
    """What lips blow into, by what is behind and the highest frequency."""
    return lru_cache(lambda kind, highest: _load(halves, kind, highest))


def _load(halves, kind, highest):
    """With a steady drop of an order that throats have."""
    front, back = halves
    frequencies = np.arange(50.0, highest + 0.5)
    end = build_termination(kind, back.shank_radius, back.walls, COLUMN)
    behind, shank, _ = driven_at_rim(back, end, frequencies)
    rates = np.array([5e-5, 1e-4, 2e-4, 3e-4])
    return Load(
        frequencies=frequencies,
        front=two_port_matrix(front, frequencies),
        behind=behind,
        to_shank=shank / behind,
        correction=np.zeros(len(frequencies), dtype=complex),
        steady=SteadyDrop.of(rates, 8e9 * rates**2, 16e9 * rates),
        throat_diameter=3.6e-3,
        density=front.air.density,
    )


@pytest.mark.parametrize(
    ("kind", "highest"),
    [
        ("anechoic pipe", 5000.0),
        ("air column", 1600.0),
        pytest.param("air column", 5000.0, marks=pytest.mark.long),
        pytest.param("open", 5000.0, marks=pytest.mark.long),
    ],
)
def test_a_bore_is_met_at_its_peaks_and_takes_up_power_everywhere(blown, kind, highest):
    load = blown(kind, highest)
    frequencies = load.frequencies
    for resistance in RESISTANCES:
        impedance = load.impedance(resistance)
        found = fit_modes(frequencies, impedance, at_rest=resistance)
        at_peaks, anywhere = found.deviation(frequencies, impedance)
        assert found.passive
        dense = 2 * np.pi * np.append(0.0, np.geomspace(0.1, 1e6, 20_000))
        assert np.all(found.impedance(dense).real > 0)
        # a third of what a tone may have: losses at a square edge are no function of the frequency
        # that poles could meet better than to 2e-4 of it
        assert at_peaks < 3e-4
        assert anywhere < 3e-3
        assert found.at_rest == pytest.approx(resistance, rel=1e-6)
        # no peak where no sample is: below them, and of any height above
        below = np.abs(found.impedance(2 * np.pi * np.linspace(0, 50, 200)))
        assert np.max(below) < 2 * max(abs(impedance[0]), resistance)
        assert np.max(np.abs(found.impedance(dense))) < 3 * np.max(np.abs(impedance))


def test_growth_on_the_modes_begins_at_the_threshold_of_the_samples(blown):
    """Two ways that share nothing but the lips: samples by frequency, eigenvalues of modes."""
    load, lips = blown("air column", 1600.0), Lips()
    found = [one for one in least_thresholds(load, [lips], 6)[0] if one is not None]
    assert [one.register for one in found] == [1, 2, 3, 4, 5, 6]
    for one in found:
        resistance = one.throat_resistance
        modes = fit_modes(load.frequencies, load.impedance(resistance), at_rest=resistance)
        offset = float(load.steady.drop(one.flow_rate)) - modes.at_rest * one.flow_rate
        oscillator = Oscillator(lips, one.lips_frequency, modes, offset, load.density)
        begins = threshold_pressure(oscillator, one.frequency, one.mouth_pressure)
        # the deviation at a peak is 3e-4 at most, and a threshold follows it one to one
        assert begins == pytest.approx(one.mouth_pressure, rel=5e-4)
