"""What the errors of measured stations make of results: against solving again and closed forms."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from borestudy.acoustics.result import Resonance, ResonanceSlope
from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.air import humid_air
from borestudy.bore import Bore, Entry, Tolerance
from borestudy.bore.cuts.changes import Changes, changed, changed_dimensions
from borestudy.bore.measured.record import MeasurementRecord, StationRecord
from borestudy.bore.stations import bore_through, station_dimensions
from borestudy.flow.result import DropSlope
from borestudy.intervals import cents
from borestudy.mesh import ACOUSTICS, mesh_ladder
from borestudy.quantity import Quantity
from borestudy.report.sentences.readings import readings_sentences
from borestudy.report.sentences.validity import validity_sentences
from borestudy.results.case import CaseResults
from borestudy.results.changes import (
    HIGHER,
    LOWER,
    NO_DIFFERENCE,
    NO_DIFFERENCE_OF_MODEL,
    flow_change,
    resonance_change,
)
from borestudy.results.dimensions import dimension_values
from borestudy.results.distribution import shares_of_limits
from borestudy.results.measured import (
    ENDING,
    in_unit,
    of_change,
    of_peak,
    of_rate,
    of_slopes,
    of_volume,
)
from borestudy.results.nonlinear import sampled_resonances
from borestudy.results.tables import comparison, flow
from borestudy.rounding import significant

from .invented import invented_cases

AIR = humid_air(293.15, 0.5, 101325.0)
#: A mouthpiece in few stations [mm], and half-widths of their diameters' errors.
STATIONS = np.array([
    [0, 16.0], [5, 14.0], [9, 8.0], [11, 3.7], [16, 3.7], [30, 4.8], [60, 7.0], [88, 9.0],
])  # fmt: skip
ERRORS = np.array([0.05, 0.05, 0.04, 0.02, 0.02, 0.02, 0.03, 0.04])
COMMON = 0.03
THROAT = (3, 4)
CUT = Changes(entry=Entry("rounded", (1e-3,)))


def record(
    errors: np.ndarray = ERRORS, common: float = COMMON, file: str = "bore.csv"
) -> MeasurementRecord:
    stations = tuple(
        StationRecord(position_mm=x, diameter_mm=d, readings_mm=(d,), lines=(number,),
                      diameter_mm_uncertainty=error)
        for number, ((x, d), error) in enumerate(zip(STATIONS, errors, strict=True), 2)
    )  # fmt: skip
    return MeasurementRecord(
        file=file, findings=(), stations=stations, common_mm_uncertainty=common
    )


def bore_of(moved: np.ndarray | float = 0.0, changes: Changes | None = None) -> Bore:
    """The bore, or what is cut from it, with its diameters larger by some amounts [mm]."""
    stations = 1e-3 * (STATIONS + np.column_stack([np.zeros(8), np.broadcast_to(moved, 8)]))
    return changed(bore_through(stations, "straight", THROAT), changes or Changes())


class Solved:
    """The bore on coarse meshes with all derivatives by its stations."""

    def __init__(self, changes: Changes | None = None) -> None:
        self.bore = bore_of(changes=changes)
        dimensions = changed_dimensions(bore_of(), STATION_DIMENSIONS, changes or Changes())
        self.dimensions = dimensions
        meshes = mesh_ladder(self.bore, ACOUSTICS.at("draft"))[-2:]
        self.two_port = solve_two_port(meshes, AIR, 300.0, 2500.0, "curved", self.bore, dimensions)
        self.end = build_termination("anechoic pipe", self.bore.shank_radius)
        self.case = CaseResults(
            "cut" if changes else "plain",
            acoustics=acoustic_result(self.two_port, self.end),
            dimensions=dimension_values(self.bore, dimensions),
            measurement=record(),
        )


@cache
def solved(cut: bool) -> Solved:
    return Solved(CUT if cut else None)


def resonance_of(moved: np.ndarray | float, cut: bool) -> float:
    """First resonance [Hz] of a bore made anew, meshed and solved as the other."""
    bore = bore_of(moved, CUT if cut else None)
    meshes = mesh_ladder(bore, ACOUSTICS.at("draft"))[-1:]
    two_port = solve_two_port(meshes, AIR, 300.0, 2500.0, "curved")
    found = acoustic_result(two_port, build_termination("anechoic pipe", bore.shank_radius))
    return float(found.resonances[0].frequency)


@pytest.fixture(scope="module", autouse=True)
def _stations(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("stations") / "bore.csv"
    rows = "\n".join(f"{x},{d}" for x, d in STATIONS)
    path.write_text(f"position_mm,diameter_mm\n{rows}\n")
    global STATION_DIMENSIONS
    STATION_DIMENSIONS = station_dimensions(path)


@pytest.mark.parametrize("cut", [False, True], ids=["as measured", "rounded"])
def test_errors_of_stations_spread_a_resonance_as_solving_it_with_them_does(cut: bool) -> None:
    """Errors that lie evenly within ± d have a third of d² as variance: u is √3 deviations.

    The reduced two-port is solved for each of 1024 sets of errors.
    """
    of = solved(cut)
    keys = [f"station {number + 1}" for number in range(len(STATIONS))]
    limits = [Tolerance(key, key, "mm", 0.5e-3 * error, {key: 1.0})
              for key, error in zip(keys, ERRORS, strict=True)]  # fmt: skip
    limits.append(Tolerance("all", "all", "mm", 0.5e-3 * COMMON, dict.fromkeys(keys, 1.0)))
    samples = sampled_resonances(
        of.case, limits, shares_of_limits(len(limits)), of.two_port, of.end
    )
    for name, field in (("resonance", "frequency"), ("resonance Q", "Q"),
                        ("resonance impedance", "impedance_peak")):  # fmt: skip
        effects = of_peak(of.case, of.case.resonances[0], field)
        assert effects is not None
        # What the second order adds is a few per cent of the effects at these errors.
        assert effects.size == pytest.approx(np.sqrt(3) * samples[name].std(), rel=0.03)


def test_each_stations_effect_is_that_of_the_bore_made_anew() -> None:
    of = solved(True)
    effects = of_peak(of.case, of.case.resonances[0], "frequency")
    assert effects is not None
    drawn = resonance_of(0.0, cut=True)
    for number in (2, 3, 5):
        moved = np.zeros(8)
        moved[number] = ERRORS[number]
        change = float(cents(resonance_of(moved, cut=True) / drawn))
        # Meshes of two bores differ by up to some hundredths of a cent, and errors have a second
        # order.
        assert effects.each[number] == pytest.approx(change, rel=0.03, abs=0.05)
    whole = float(cents(resonance_of(COMMON, cut=True) / drawn))
    assert effects.together == pytest.approx(whole, rel=0.03, abs=0.05)


def test_bores_of_the_same_stations_have_their_errors_in_common() -> None:
    plain, cut = solved(False).case, solved(True).case
    ends = {"cut": cut.resonances[0], "plain": plain.resonances[0]}

    def effects(of: CaseResults):
        return of_peak(of, ends[of.name], "frequency")

    together = of_change(cut, plain, effects)
    assert together is not None
    apart = of_change(replace(cut, measurement=record(file="another.csv")), plain, effects)
    sizes = [effects(cut).size, effects(plain).size]
    assert apart == pytest.approx(np.hypot(*sizes))
    assert together < 0.1 * apart
    # The change of the change, where all diameters are larger, by solving all four bores.
    change = [float(cents(resonance_of(moved, True) / resonance_of(moved, False)))
              for moved in (0.0, 0.3)]  # fmt: skip
    common = of_change(
        replace(cut, measurement=record(np.zeros(8), 0.3)),
        replace(plain, measurement=record(np.zeros(8), 0.3)),
        effects,
    )
    assert common == pytest.approx(abs(change[1] - change[0]), rel=0.2, abs=0.1)


def test_a_pipes_common_error_is_four_times_the_relative_one_of_its_resistance() -> None:
    # Poiseuille: the resistance goes as r^-4, in equal parts by each of n stations.
    radius, count = 2.0, 8
    slopes = {f"station {k + 1}": Quantity(-4 * 100 / radius / count, 0.0) for k in range(count)}
    shared = of_slopes(record(np.zeros(8), 0.02), slopes)
    assert shared is not None
    assert shared.size == pytest.approx(4 * 100 * 0.01 / radius)
    alone = of_slopes(record(np.full(8, 0.02), 0.0), slopes)
    assert alone is not None
    assert alone.size == pytest.approx(shared.size / np.sqrt(count))
    assert of_slopes(record(), {key: slopes[key] for key in list(slopes)[1:]}) is None


def test_a_volumes_error_is_that_of_its_frustums() -> None:
    # Of a frustum V = π l (a² + a b + b²) / 12 by diameters; of a station, the sum of both sides.
    case = solved(False).case
    x, d = 0.1 * STATIONS.T
    length = np.diff(x)
    slopes = np.zeros(8)
    back = slice(4, 7)  # backbore: frustums 4, 5, 6
    for k in range(*back.indices(7)):
        slopes[k] += np.pi * length[k] * (2 * d[k] + d[k + 1]) / 12
        slopes[k + 1] += np.pi * length[k] * (2 * d[k + 1] + d[k]) / 12
    errors = 0.1 * ERRORS
    exact = np.hypot(np.sqrt(((slopes * errors) ** 2).sum()), slopes.sum() * 0.1 * COMMON)
    assert of_volume(case, "backbore_volume_cm3") == pytest.approx(exact, rel=1e-6)
    assert of_volume(replace(case, measurement=None), "backbore_volume_cm3") is None


def measured_cases(scale: float = 1.0):
    """The invented cases, as if measured with stations that each of their figures depends on."""
    made = []
    for place, case in enumerate(invented_cases()):
        factor = scale * (1 + 0.1 * place)
        slope = ResonanceSlope(
            frequency=Quantity(-9.0 * factor, 0.0, "cents"),
            Q=Quantity(-0.5 * factor, 0.0),
            impedance_peak=Quantity(-1e6 * factor, 0.0, "Pa_s_per_m3"),
        )
        drops = DropSlope(
            pressure_drop=Quantity(-40.0 * factor, 0.0, "Pa"),
            pressure_drop_to_throat_end=Quantity(-60.0 * factor, 0.0, "Pa"),
            backbore_pressure_drop=Quantity(20.0 * factor, 0.0, "Pa"),
            differential_resistance=Quantity(-0.3 * factor, 0.0, "kPa_s_per_L"),
        )
        keys = [f"station {number + 1}" for number in range(8)]
        peaks = tuple(replace(one, by_dimension=dict.fromkeys(keys, slope))
                      for one in case.acoustics.resonances)  # fmt: skip
        rates = tuple(
            rate
            if rate.estimate is None
            else replace(
                rate, estimate=replace(rate.estimate, by_dimension=dict.fromkeys(keys, drops))
            )
            for rate in case.flow.rates
        )
        sound = replace(case.acoustics, resonances=peaks)
        flows = replace(case.flow, rates=rates)
        made.append(replace(case, measurement=record(), acoustics=sound, flow=flows))
    return made


#: What the stations' errors make of a quantity with a derivative of 1 by each radius.
SPREAD = np.sqrt((ERRORS**2).sum() / 4 + (8 * COMMON / 2) ** 2)


def test_figures_have_what_their_stations_errors_make_of_them_in_their_own_unit() -> None:
    cases = measured_cases()
    row = comparison.comparison_table(cases, 0).iloc[1]
    factor = 1.1 * SPREAD
    frequency = row["resonance_Hz"]
    assert row[f"resonance_Hz{ENDING}"] == pytest.approx(
        frequency * (2 ** (9 * factor / 1200) - 1), rel=1e-9
    )
    assert row[f"resonance_Q{ENDING}"] == pytest.approx(0.5 * factor)
    assert row[f"impedance_peak_Pa_s_per_m3{ENDING}"] == pytest.approx(1e6 * factor)
    assert row[f"pressure_drop_Pa{ENDING}"] == pytest.approx(40 * factor)
    per_rate = 1e-3 / row["flow_rate_L_per_s"]
    resistance = "flow_resistance_kPa_s_per_L"
    assert row[f"{resistance}{ENDING}"] == pytest.approx(40 * factor * per_rate)
    to_end = "flow_resistance_to_throat_end_kPa_s_per_L"
    assert row[f"{to_end}{ENDING}"] == pytest.approx(60 * factor * per_rate)
    slope = f"flow_differential_resistance_kPa_s_per_L{ENDING}"
    assert row[slope] == pytest.approx(0.3 * factor)
    table = flow.flow_table(cases)
    last = table[table["case"] == cases[1].name].iloc[-1]
    assert last[f"backbore_pressure_drop_Pa{ENDING}"] == pytest.approx(20 * factor)
    assert last[f"pressure_drop_to_throat_end_Pa{ENDING}"] == pytest.approx(60 * factor)
    peaks = comparison.peaks_table(cases)
    second = peaks[(peaks["case"] == cases[1].name) & (peaks["peak"] == 2)].iloc[0]
    assert second[f"resonance_Q{ENDING}"] == pytest.approx(0.5 * factor)


def test_a_change_within_what_the_stations_leave_uncertain_is_no_difference() -> None:
    first, other = measured_cases(0.0)
    found = resonance_change(other, first)
    assert found.verdict == LOWER
    assert found.measurement == 0.0
    # of the same stations: the difference of the slopes alone, a tenth
    first, other = measured_cases(40.0)
    same = resonance_change(other, first)
    assert same.measurement == pytest.approx(0.1 * 360 * SPREAD)
    apart = resonance_change(replace(other, measurement=record(file="other.csv")), first)
    assert apart.measurement == pytest.approx(np.hypot(360, 396) * SPREAD)
    assert (same.verdict, apart.verdict) == (LOWER, NO_DIFFERENCE_OF_MODEL)
    assert apart.uncertainty == pytest.approx(np.hypot(apart.numerical, apart.measurement))
    assert resonance_change(first, first).verdict == NO_DIFFERENCE
    drop = flow_change(other, first, 0)
    values = [case.rates[0].quantity("pressure_drop").value for case in (other, first)]
    exact = abs(100 * (-1760 / values[0] + 1600 / values[1])) * SPREAD
    assert drop.measurement == pytest.approx(exact)
    assert drop.verdict not in (HIGHER, LOWER) or abs(drop.value) > exact


def test_a_measured_bore_against_one_of_dimensions_has_its_own_errors() -> None:
    first, other = measured_cases()
    plain = replace(first, measurement=None)
    own = of_peak(other, other.resonances[0], "frequency")
    assert own is not None
    assert resonance_change(other, plain).measurement == pytest.approx(own.size)
    unknown = replace(
        other,
        acoustics=replace(other.acoustics, resonances=(
            replace(other.resonances[0], by_dimension={}), *other.resonances[1:])),
    )  # fmt: skip
    assert resonance_change(unknown, plain).measurement is None
    row = comparison.comparison_table([first, unknown], 0).iloc[1]
    assert np.isnan(row[f"resonance_Hz{ENDING}"])


def test_a_bore_of_dimensions_has_no_such_columns() -> None:
    cases = invented_cases()
    for table in (comparison.comparison_table(cases, 0), flow.flow_table(cases),
                  comparison.peaks_table(cases), comparison.cases_table(cases)):  # fmt: skip
        assert not [name for name in table.columns if name.endswith(ENDING)]


def test_what_is_not_known_has_no_size() -> None:
    assert in_unit(None, Quantity(1.0, 0.0)) is None
    assert of_peak(CaseResults("none"), Resonance(), "frequency") is None
    assert of_rate(CaseResults("none"), None, "pressure_drop") is None


def test_the_cautions_say_what_the_readings_errors_come_to() -> None:
    cases = [replace(case, measurement=replace(record(), uncertainty_from="the stated uncertainty"))
             for case in measured_cases()]  # fmt: skip
    (told,) = readings_sentences(cases)
    assert told.startswith(
        "Readings of bore.csv: each diameter ± 0.02 to 0.05 mm, and all "
        "together ± 0.03 mm (from the stated uncertainty) make the first "
    )
    assert f"uncertain by ± {significant(9 * SPREAD, 2)} cents" in told
    row = cases[0].rates[1]
    percent = 100 * 40 * SPREAD / abs(row.quantity("pressure_drop").value)
    assert f"at {row.flow_rate_L_per_s:g} L/s by ± {significant(percent, 2)} %" in told
    assert told in validity_sentences(cases)
    assert list(readings_sentences(invented_cases())) == []
