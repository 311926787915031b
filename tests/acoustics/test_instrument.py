"""The study of overall length: what length and cup depth do to the peaks of an instrument."""

from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.resonances import impedance_peaks
from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import build_termination, read_air_column
from borestudy.acoustics.two_port import input_impedance, solve_two_port
from borestudy.report.sentences.words import REGISTERS, resonance_text
from borestudy.results.case import CaseResults
from borestudy.results.changes import resonance_change
from borestudy.study import load_study
from borestudy.units import FREQUENCY, parse

PLAYED = range(2, 13)
FIRST, SHORTER, DEEPER = (
    "length-88.00mm__cup_depth-9.20mm",
    "length-82.00mm__cup_depth-9.20mm",
    "length-88.00mm__cup_depth-10.70mm",
)


@pytest.fixture(scope="module")
def study():
    return load_study(Path(__file__).parents[2] / "configs" / "overall-length.yaml")


@pytest.fixture(scope="module")
def two_ports(study, meshed):
    found = {}
    for name in (FIRST, SHORTER, DEEPER):
        case = study.case(name)
        meshes = [meshed(case.build_bore(), level) for level in (0, 1)]
        ends = [parse(end, FREQUENCY) for end in (study.resonance.from_, study.resonance.to)]
        found[name] = solve_two_port(meshes, case.build_air(), *ends)
    return found


@pytest.fixture(scope="module")
def cases(study, two_ports):
    column = read_air_column(study.air_column_file())
    found = {}
    for name, two_port in two_ports.items():
        termination = build_termination("air column", two_port.shank_radius, column=column)
        fundamental = parse(study.resonance.fundamental, FREQUENCY)
        acoustics = acoustic_result(two_port, termination, fundamental=fundamental)
        found[name] = CaseResults(name, acoustics=acoustics)
    return found


def cents(cases, name):
    """Change of peaks 2 to 12 against the first case."""
    changes = [resonance_change(cases[name], cases[FIRST], peak - 1) for peak in PLAYED]
    return {peak: change for peak, change in zip(PLAYED, changes, strict=True)}


def register(changes, name):
    return np.mean([changes[peak].value for peak in REGISTERS[name]])


def test_the_demo_air_column_is_in_tune_with_its_fundamental(cases):
    peaks = cases[FIRST].resonances
    for number, peak in enumerate(peaks[1:12], 2):
        assert peak.nearest_harmonic == number
        assert abs(peak.cents_above_harmonic) < 25
        assert peak.Q.value > 15


def test_the_demo_mouthpiece_resonates_where_those_of_its_class_do(two_ports):
    bore = two_ports[FIRST]
    alone = build_termination("open", bore.shank_radius)
    peaks, _ = impedance_peaks(lambda f: input_impedance(bore, alone, f), 300, 1600)
    assert 800 < peaks[0] < 900


def test_a_shorter_mouthpiece_is_higher_most_of_all_in_the_high_register(cases):
    changes = cents(cases, SHORTER)
    for change in changes.values():
        assert change.verdict == "higher"
        assert change.uncertainty < 0.1
    assert register(changes, "high") > register(changes, "middle") > register(changes, "low")
    assert max(changes, key=lambda peak: changes[peak].value) in REGISTERS["high"]


def test_a_deeper_cup_is_lower_at_every_peak(cases):
    changes = cents(cases, DEEPER)
    for change in changes.values():
        assert change.verdict == "lower"
    assert register(changes, "high") < register(changes, "low") < 0


def test_the_answer_says_each_register_with_its_uncertainty(cases):
    text = resonance_text(cases[SHORTER], cases[FIRST])
    for name, peaks in REGISTERS.items():
        assert f"in the {name} register (peaks {peaks[0]} to {peaks[-1]})" in text
    assert text.count("±") == 4
    assert "most at peak 8" in text
