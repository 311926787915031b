"""The study of overall length: what length and cup depth do to the peaks of an instrument."""

from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.resonances import impedance_peaks, resonance_figures
from borestudy.acoustics.samples import sampled_peaks
from borestudy.acoustics.sensitivity import changed
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
        dimensions = case.dimensions() if name == FIRST else ()
        found[name] = solve_two_port(
            meshes, case.build_air(), *ends, bore=case.build_bore(), dimensions=dimensions
        )
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


def slopes(cases, key):
    """Cents a millimetre of peaks 2 to 12 of the first case."""
    peaks = cases[FIRST].acoustics.resonances
    found = [peaks[number - 1].by_dimension[key].frequency for number in PLAYED]
    return {peak: slope for peak, slope in zip(PLAYED, found, strict=True)}


def test_slopes_say_of_a_shorter_mouthpiece_what_is_common_practice(cases):
    """Every peak higher, most of all in the high register."""
    shorter = slopes(cases, "length")
    for slope in shorter.values():
        assert slope.value < -10 * slope.uncertainty
    low, middle, high = (-register(shorter, name) for name in ("low", "middle", "high"))
    assert high > middle > low > 0
    assert min(shorter, key=lambda peak: shorter[peak].value) in REGISTERS["high"]


def test_slopes_say_of_a_deeper_cup_what_is_common_practice(cases):
    deeper = slopes(cases, "cup.depth")
    for slope in deeper.values():
        assert slope.value < -10 * slope.uncertainty
    assert register(deeper, "high") < register(deeper, "low") < 0


def test_slopes_are_tangents_of_what_whole_solves_find(cases):
    """6 mm off the length, where it bends: the tangent is within a quarter, the sign certain."""
    tangent, secant = slopes(cases, "length"), cents(cases, SHORTER)
    for peak in PLAYED:
        assert secant[peak].value == pytest.approx(-6 * tangent[peak].value, rel=0.25)


def test_many_bores_near_the_first_have_the_peaks_of_the_full_search(cases, two_ports, study):
    """Sixteen peaks, whose poles lie beside them by up to half their width."""
    two_port, keys = two_ports[FIRST], ["backbore.end_diameter", "throat.diameter", "length"]
    column = read_air_column(study.air_column_file())
    end = build_termination("air column", two_port.shank_radius, column=column)
    amounts = np.array([[0, 0, 0], [2.5e-5, -2.5e-5, 2.5e-5], [-2.5e-5, 0, 2.5e-5]])
    peaks = [[peak.frequency.value, peak.Q.value] for peak in cases[FIRST].acoustics.resonances]
    found = sampled_peaks(two_port, end, keys, amounts, peaks)
    for row, figures in zip(amounts, found, strict=True):
        other = changed(two_port, dict(zip(keys, row, strict=True)))
        again = end.at(other.shank_radius)
        whole = resonance_figures(
            lambda f, other=other, again=again: input_impedance(other, again, f),
            *two_port.range_Hz,
        )
        # a step of 0.3 % that begins at the air column is worth 4e-6 of a height
        np.testing.assert_allclose(figures, whole, rtol=1e-5)


def test_the_answer_says_each_register_with_its_uncertainty(cases):
    text = resonance_text(cases[SHORTER], cases[FIRST])
    for name, peaks in REGISTERS.items():
        assert f"in the {name} register (peaks {peaks[0]} to {peaks[-1]})" in text
    assert text.count("±") == 4
    assert "most at peak 8" in text
