"""What a steady stream does to the resonance of a bore."""

import math
from dataclasses import replace

import numpy as np
import pytest

from borestudy.acoustics.resonances import impedance_peaks, quality_factors
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import (
    TwoPort,
    input_impedance,
    solve_two_port,
    termination_at_cut,
)
from borestudy.air import humid_air
from borestudy.bore import Bore, Entry, bore_from_dimensions
from borestudy.flow.result import FlowAtRate
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.quantity import Quantity
from borestudy.records import to_plain
from borestudy.results.estimate import EstimatedFlow, EstimatedRate
from borestudy.results.model_error import ModelError, Sides
from borestudy.results.stream import (
    NOT_QUASI_STEADY,
    QUASI_STEADY,
    slope_interval,
    stream_result,
)

DIAMETER = 3.66e-3


def row(rate: float, slope: float, low: float = 0.0, high: float = 0.0) -> EstimatedRate:
    """A made-up rate [L/s, kPa s/L] of a drop that goes as Q²; its model error is a share of it."""
    drop = slope * 1e6 * 1e-3 * rate / 2
    velocity = 1e-3 * rate / (np.pi / 4 * DIAMETER**2)
    solved = FlowAtRate(
        flow_rate_L_per_s=rate,
        converged=True,
        pressure_drop=Quantity(drop, 0.001 * drop),
        differential_resistance=Quantity(slope, 0.01 * slope),
    )
    return EstimatedRate(
        flow_rate_L_per_s=rate,
        throat_reynolds=1000.0,
        throat_velocity_m_per_s=velocity,
        dynamic_pressure_Pa=0.6 * velocity**2,
        mach_number=velocity / 346,
        estimate=solved,
        model_error=ModelError({"pressure_drop": Sides(low * drop, high * drop)}),
    )


@pytest.fixture(scope="module")
def ports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, TwoPort]:
    bore = bore_from_dimensions(
        length=88e-3,
        cup_diameter=16e-3,
        cup_depth=11e-3,
        cup_shape=0.6,
        throat_diameter=DIAMETER,
        throat_length=5e-3,
        entry=Entry(),
        backbore_end_diameter=9e-3,
    )
    folder = tmp_path_factory.mktemp("meshes")
    front, back = bore.cut((bore.throat_start + bore.throat_end) / 2)

    def solved(name: str, part: Bore) -> TwoPort:
        write_mesh(part, folder / f"{name}.msh", ACOUSTICS, 1)
        return solve_two_port([read_mesh(folder / f"{name}.msh")], humid_air(), 50.0, 3000.0)

    halves = {"whole": bore, "front": front, "back": back}
    return {name: solved(name, part) for name, part in halves.items()}


def changes(ports: dict[str, TwoPort], *rows: EstimatedRate) -> dict:
    """What stream.json says."""
    termination = build_termination("anechoic pipe", ports["whole"].shank_radius)
    return to_plain(stream_result(**ports, termination=termination, flow=EstimatedFlow(rates=rows)))


def test_a_stronger_stream_damps_the_resonance_more(ports: dict[str, TwoPort]) -> None:
    found = changes(ports, row(0.05, 0.5), row(0.1, 1.0), row(0.2, 2.0))["rates"]
    for name in ("resonance_Q_change_percent", "impedance_peak_change_percent"):
        values = [entry[name] for entry in found]
        assert values[0] < 0
        assert (np.diff(values) < 0).all()


def first_peak(ports: dict[str, TwoPort], resistance: float) -> tuple[float, float, float]:
    """Frequency, Q and height with a resistance in the throat, without the stream's code."""
    anechoic = build_termination("anechoic pipe", ports["whole"].shank_radius)
    termination = termination_at_cut(ports["back"], anechoic, resistance)

    def impedance(frequencies: np.ndarray) -> np.ndarray:
        return input_impedance(ports["front"], termination, frequencies)

    peaks, heights = impedance_peaks(impedance, 50.0, 3000.0)
    quality = quality_factors(impedance, peaks[:1], 50.0, 3000.0)
    return float(peaks[0]), float(quality[0]), float(heights[0])


def test_each_figure_of_the_resonance_changes_as_it_does_by_itself(
    ports: dict[str, TwoPort],
) -> None:
    """An octave is 1200 cents; Q and height fall by different shares."""
    slope = 20.0
    (found,) = changes(ports, row(0.1, slope))["rates"]
    blown, still = first_peak(ports, 1e6 * slope), first_peak(ports, 0.0)
    ratios = [one / other for one, other in zip(blown, still, strict=True)]
    octaves = math.log(ratios[0]) / math.log(2)
    assert abs(octaves) > 0.01
    assert found["resonance_change_cents"] == pytest.approx(1200 * octaves, rel=1e-6)
    assert abs(ratios[1] / ratios[2] - 1) > 0.01
    assert found["resonance_Q_change_percent"] == pytest.approx(100 * (ratios[1] - 1), rel=1e-6)
    assert found["impedance_peak_change_percent"] == pytest.approx(100 * (ratios[2] - 1), rel=1e-6)


def test_a_change_is_as_unsure_as_the_slope_makes_it(ports: dict[str, TwoPort]) -> None:
    """Without a model error the ends are those of the slope, less and plus its uncertainty."""
    found = changes(ports, row(0.1, 1.0))
    (entry,) = found["rates"]
    for stem, unit in (("resonance_Q_change", "percent"), ("impedance_peak_change", "percent")):
        width = entry[f"{stem}_high_{unit}"] - entry[f"{stem}_low_{unit}"]
        joint = found["cut_deviation_percent"] / 100 * abs(entry[f"{stem}_{unit}"])
        error = entry[f"{stem}_{unit}_uncertainty"]
        # the curve bends by a few percent over the two per cent between the ends
        assert error == pytest.approx(width / 2 + joint, rel=0.05)


def test_a_small_resistance_damps_in_proportion(ports: dict[str, TwoPort]) -> None:
    found = changes(ports, row(0.05, 0.01), row(0.1, 0.02))["rates"]
    ratio = found[1]["resonance_Q_change_percent"] / found[0]["resonance_Q_change_percent"]
    assert ratio == pytest.approx(2, rel=5e-3)


def test_cutting_and_joining_moves_the_resonance_far_less_than_the_stream(
    ports: dict[str, TwoPort],
) -> None:
    found = changes(ports, row(0.05, 0.5))
    assert found["cut_deviation_percent"] < 1e-3
    assert abs(found["rates"][0]["resonance_Q_change_percent"]) > 1


def test_the_strouhal_number_says_whether_the_stream_follows(ports: dict[str, TwoPort]) -> None:
    slow, fast = changes(ports, row(0.05, 0.5), row(0.3, 2.0))["rates"]
    velocity = 0.3e-3 / (np.pi / 4 * DIAMETER**2)
    assert fast["strouhal"] == pytest.approx(800 * DIAMETER / velocity, rel=0.1)
    assert slow["validity"] == NOT_QUASI_STEADY
    assert fast["validity"] == QUASI_STEADY


@pytest.mark.parametrize(("strouhal", "word"), [(0.19, QUASI_STEADY), (0.21, NOT_QUASI_STEADY)])
def test_the_stream_follows_while_the_air_passes_the_throat_in_a_fifth_of_a_period(
    ports: dict[str, TwoPort], strouhal: float, word: str
) -> None:
    velocity = first_peak(ports, 0.0)[0] * DIAMETER / strouhal
    (found,) = changes(ports, row(1e3 * velocity * np.pi / 4 * DIAMETER**2, 1.0))["rates"]
    assert found["strouhal"] == pytest.approx(strouhal)
    assert found["validity"] == word


def test_the_slopes_ends_have_the_drops_model_error_as_a_share_and_its_own_numerical_one() -> None:
    """A slope of 2 to 1 %, a drop that may be 30 % less or 40 % more."""
    rate = row(0.2, 2.0, 0.3, 0.4)
    found = slope_interval(rate, rate.quantity("differential_resistance"))
    expected = 2 - 2 * math.hypot(0.3, 0.01), 2 + 2 * math.hypot(0.4, 0.01)
    assert (found.low, found.high) == pytest.approx(expected)


def test_a_change_of_the_resonance_is_unsure_by_both_errors(ports: dict[str, TwoPort]) -> None:
    sure, (entry,) = (changes(ports, row(0.2, 2.0, *sides))["rates"] for sides in ((), (0.3, 0.4)))
    assert entry["series_resistance_kPa_s_per_L"] == 2.0
    assert entry["series_resistance_kPa_s_per_L_uncertainty"] == pytest.approx(
        2 * math.hypot(0.4, 0.01)
    )
    for end, resistance in (("low", entry["series_resistance_high_kPa_s_per_L"]),
                            ("high", entry["series_resistance_low_kPa_s_per_L"])):  # fmt: skip
        blown, still = first_peak(ports, 1e6 * resistance), first_peak(ports, 0.0)
        change = 100 * (blown[1] / still[1] - 1)
        assert entry[f"resonance_Q_change_{end}_percent"] == pytest.approx(change, rel=1e-6)
        computed = entry["resonance_Q_change_percent"]
        assert abs(change - computed) <= entry["resonance_Q_change_percent_uncertainty"]
    error = "resonance_Q_change_percent_uncertainty"
    assert entry[error] > 20 * sure[0][error] > 0


def test_each_rate_has_one_row_with_the_estimates_slope(ports: dict[str, TwoPort]) -> None:
    extreme = FlowAtRate(
        flow_rate_L_per_s=0.2, converged=True, differential_resistance=Quantity(1e6, 0.0)
    )
    rates = row(0.1, 1.0), row(0.2, 2.0)
    beside = [replace(each, laminar=extreme, turbulent=extreme) for each in rates]
    found = changes(ports, *beside)
    assert [entry["rate_index"] for entry in found["rates"]] == [0, 1]
    assert [entry["series_resistance_kPa_s_per_L"] for entry in found["rates"]] == [1.0, 2.0]
    assert found == changes(ports, *rates)


def test_a_rate_that_did_not_converge_has_no_row(ports: dict[str, TwoPort]) -> None:
    lost = replace(row(0.3, 1.0), estimate=FlowAtRate(flow_rate_L_per_s=0.3, converged=False))
    assert changes(ports, lost)["rates"] == []
