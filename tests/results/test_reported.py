"""Every reported quantity by its name, with its derivatives in cents or percent."""

from dataclasses import replace
from math import hypot, log2, pi

import pytest

from borestudy.acoustics.result import ResonanceSlope
from borestudy.bore import Dimension, Entry, bore_from_dimensions, cylinder, describe, variation
from borestudy.flow.result import DropSlope
from borestudy.quantity import Quantity
from borestudy.results.dimensions import DimensionValue, dimension_values
from borestudy.results.naming import find_quantity
from borestudy.results.reported import Reported, names_at_rate, reported, unreported

from .conftest import altered, make_case

THROAT = "throat.diameter"


@pytest.fixture
def case():
    """Two peaks, three rates of which the last has no solution, and one dimension."""
    made = make_case("bore", {}, frequencies=(800.0, 1700.0), lost=(0.3,))
    slope = ResonanceSlope(
        frequency=Quantity(-12.0, 0.5, "cents"),
        Q=Quantity(-0.3, 0.06),
        impedance_peak=Quantity(4e5, 1e4, "Pa_s_per_m3"),
    )
    peaks = tuple(replace(peak, by_dimension={THROAT: slope}) for peak in made.resonances)
    made = replace(made, acoustics=replace(made.acoustics, resonances=peaks))
    for index, drop in enumerate((10.0, 40.0)):
        slopes = DropSlope(
            pressure_drop=Quantity(-1.1 * drop, 0.02 * drop, "Pa"),
            pressure_drop_to_throat_end=Quantity(-1.2 * drop, 0.03 * drop, "Pa"),
            backbore_pressure_drop=Quantity(0.1 * drop, 0.01 * drop, "Pa"),
            differential_resistance=Quantity(-0.02 * drop, 0.001 * drop, "kPa_s_per_L"),
        )
        parts = {
            "pressure_drop": Quantity(drop, 0.04 * drop, "Pa", (1.02 * drop, drop)),
            "pressure_drop_to_throat_end": Quantity(1.25 * drop, 0.05 * drop, "Pa"),
            "backbore_pressure_drop": Quantity(-0.25 * drop, 0.02 * drop, "Pa"),
            "differential_resistance": Quantity(0.4 * drop, 0.004 * drop, "kPa_s_per_L"),
        }
        made = altered(made, index, by_dimension={THROAT: slopes}, **parts)
    return made


def test_a_rates_slopes_are_in_percent_with_the_errors_of_both(case) -> None:
    found = reported(case)["pressure drop at 0.1 L/s"]
    assert (found.value.value, found.unit, found.flow_rate_L_per_s) == (40.0, "Pa", 0.1)
    slope = found.slopes[THROAT]
    assert (slope.value, slope.unit) == (pytest.approx(-110.0), "percent")
    # of -44 ± 0.8 over 40 ± 1.6: 1/55 and 1/25 of -110 %, together
    assert slope.uncertainty == pytest.approx(110 * hypot(1 / 55, 1 / 25))


def test_the_flow_resistance_is_the_drop_over_the_rate_and_changes_with_it(case) -> None:
    found = reported(case)
    drop, resistance = found["pressure drop at 0.1 L/s"], found["flow resistance at 0.1 L/s"]
    assert (resistance.value.value, resistance.unit) == (pytest.approx(0.4), "kPa_s_per_L")
    assert resistance.value.uncertainty == pytest.approx(0.016)
    assert resistance.value.levels == pytest.approx((0.408, 0.4))
    assert resistance.slopes[THROAT].value == pytest.approx(drop.slopes[THROAT].value)
    assert resistance.slopes[THROAT].uncertainty == pytest.approx(drop.slopes[THROAT].uncertainty)
    assert resistance.noise_floor == pytest.approx(4.0)


def test_a_drop_below_zero_changes_in_percent_of_its_size_and_keeps_its_sign(case) -> None:
    found = reported(case)["backbore pressure drop at 0.05 L/s"]
    assert found.value.value == -2.5
    assert found.slopes[THROAT].value == pytest.approx(40.0)  # +1 Pa of 2.5 Pa: less is given back
    assert found.slopes[THROAT].uncertainty == pytest.approx(hypot(4.0, 40 * 0.2 / 2.5))
    assert found.change(-2.5, -2.0) == pytest.approx(20.0)
    assert found.noise_floor == pytest.approx(8.0)


def test_a_frequencys_slopes_stay_in_cents_and_the_others_of_a_resonance_are_in_percent(
    case,
) -> None:
    found = reported(case)
    resonance, quality = found["resonance"], found["resonance Q"]
    assert (resonance.relative_in, resonance.slopes[THROAT].value) == ("cents", -12.0)
    assert resonance.slopes[THROAT].uncertainty == 0.5
    assert resonance.change(800.0, 1600.0) == pytest.approx(1200.0)
    frequency = resonance.value
    expected = 1200 * log2(1 + frequency.uncertainty / frequency.value)
    assert resonance.noise_floor == pytest.approx(expected)
    assert quality.slopes[THROAT].value == pytest.approx(-5.0, rel=1e-4)
    assert quality.slopes[THROAT].uncertainty == pytest.approx(1.0, rel=1e-3)
    assert found["resonance impedance"].slopes[THROAT].value == pytest.approx(2.0, rel=1e-4)


def test_an_effect_is_the_slope_times_the_step_with_its_error(case) -> None:
    found = reported(case)["resonance"]
    down, up = (found.effect(THROAT, amount) for amount in (-0.5, 0.5))
    assert (down.value, up.value) == (6.0, -6.0)
    assert (down.uncertainty, down.unit) == (0.25, "cents")
    assert found.effect("length", 1.0) is None


def test_effects_of_several_dimensions_add_up_with_the_sizes_of_their_errors(case) -> None:
    found = reported(case)["resonance"]
    both = replace(found, slopes={**found.slopes, "length": Quantity(-30.0, 2.0, "cents")})
    effect = both.effect_of({THROAT: -0.5, "length": 0.1})
    assert (effect.value, effect.uncertainty) == (pytest.approx(3.0), pytest.approx(0.45))
    assert both.effect_of({THROAT: 1.0, "cup.depth": 1.0}) is None
    assert both.effect_of({}) is None
    unknown = replace(both, slopes={**both.slopes, "length": Quantity(-30.0, None, "cents")})
    assert unknown.effect_of({THROAT: 1.0, "length": 1.0}).uncertainty is None


def test_an_error_that_is_not_known_leaves_the_slopes_not_known(case) -> None:
    drop = Quantity(40.0, None, "Pa")
    found = reported(altered(case, 1, pressure_drop=drop))["pressure drop at 0.1 L/s"]
    assert found.noise_floor is None
    assert found.slopes[THROAT].value == pytest.approx(-110.0)
    assert found.slopes[THROAT].uncertainty is None


def test_percent_on_each_mesh_are_of_that_meshs_value(case) -> None:
    slope = Quantity(-1.1, 0.1, "Pa", (-1.3, -1.1))
    drop = Quantity(10.0, 0.1, "Pa", (50.0, 20.0, 10.0))  # no derivative on the coarsest mesh
    changed = altered(
        case, 0, pressure_drop=drop, by_dimension={THROAT: DropSlope(pressure_drop=slope)}
    )
    found = reported(changed)["pressure drop at 0.05 L/s"].slopes[THROAT]
    assert found.levels == pytest.approx((-6.5, -11.0))
    back = Quantity(-10.0, 0.1, "Pa", (-20.0, -10.0))
    changed = altered(
        case,
        0,
        backbore_pressure_drop=back,
        by_dimension={THROAT: DropSlope(backbore_pressure_drop=slope)},
    )
    found = reported(changed)["backbore pressure drop at 0.05 L/s"].slopes[THROAT]
    assert found.levels == pytest.approx((-6.5, -11.0))


def test_a_rate_without_a_solution_is_absent_and_says_why(case) -> None:
    found, missing = reported(case), unreported(case)
    assert set(missing) == set(names_at_rate(0.3))
    assert set(missing.values()) == {"no number: the solution did not converge"}
    assert not set(missing) & set(found)
    assert {*names_at_rate(0.05), *names_at_rate(0.1)} < set(found)


def test_a_case_without_sound_says_so_and_one_without_a_peak_too(case) -> None:
    silent = unreported(replace(case, acoustics=None))
    assert silent["resonance"] == "no number: not computed"
    flat = replace(case, acoustics=replace(case.acoustics, resonances=()))
    assert unreported(flat)["resonance Q"] == "no number: no resonance in the range"
    unmeshed = replace(flat, acoustics=replace(flat.acoustics, not_meshed="too thin"))
    assert unreported(unmeshed)["resonance"] == "no number: not meshed: too thin"


def test_every_peak_has_a_name_behind_an_air_column_alone(case) -> None:
    assert "peak 2" not in reported(case)
    column = replace(case, acoustics=replace(case.acoustics, termination="air column, 2 stations"))
    found = reported(column)
    for stem, place in (("resonance", 0), ("peak 1", 0), ("peak 2", 1)):
        peak = column.resonances[place]
        assert found[stem].value is peak.frequency
        assert found[f"{stem} Q"].value is peak.Q
        assert found[f"{stem} impedance"].value is peak.impedance_peak


def test_peaks_are_counted_in_the_first_case() -> None:
    frequencies = [235.0, 350.0, 470.0, 585.0, 700.0]
    column = {"termination": "air column, 2 stations"}
    first = make_case("first", {}, frequencies=frequencies, **column)
    # the range cuts off its lowest peak
    other = make_case("other", {}, frequencies=[1.001 * each for each in frequencies[1:]], **column)
    found = reported(other, first)
    assert "peak 5" in found
    more = reported(first, other)  # its lowest peak comes before the other's first
    assert [name for name in more if name in ("peak 0", "peak 1", "peak 4", "peak 5")] == [
        "peak 1", "peak 4",
    ]  # fmt: skip
    assert more["peak 1"].value.value == pytest.approx(350.0, rel=1e-4)
    assert found["peak 2"].value.value == pytest.approx(350.35, rel=1e-4)
    assert "peak 1" not in found


def test_the_volume_of_a_cylinder_changes_as_its_formula_does() -> None:
    length, radius = 0.1, 5e-3
    sizes = dimension_values(
        cylinder(radius, length),
        [
            variation(lambda value: cylinder(value, length), radius, key="radius"),
            variation(lambda value: cylinder(radius, value), length, key="length"),
        ],
    )
    volumes = [sum(one.volumes.values()) for one in sizes]
    # cm³ per mm: 2 π a L and π a², in m³ per m, of 1e6 · 1e-3
    assert volumes == pytest.approx([1e3 * 2 * pi * radius * length, 1e3 * pi * radius**2])
    assert [one.value for one in sizes] == pytest.approx([5.0, 100.0])


def test_each_part_of_a_bore_has_the_slopes_of_its_own_volume() -> None:
    def build(diameter: float):
        return bore_from_dimensions(
            length=88e-3, cup_diameter=16.2e-3, cup_depth=11e-3, cup_shape=0.5, entry=Entry(),
            throat_diameter=diameter, throat_length=5e-3, backbore_end_diameter=9e-3,
        )  # fmt: skip

    value, step = 3.66e-3, 1e-5
    (found,) = dimension_values(build(value), [variation(build, value, key=THROAT)])
    low, high = (describe(build(value + side)) for side in (-step, step))
    for name, slope in found.volumes.items():
        expected = (getattr(high, name) - getattr(low, name)) / (2e3 * step)
        assert slope == pytest.approx(expected, rel=1e-4)
    assert len({round(slope, 6) for slope in found.volumes.values()}) == 3


def test_a_station_knows_its_place_and_a_dimension_at_its_limit_has_a_slope() -> None:
    def build(radius: float):
        if radius > 5e-3:
            raise ValueError("too wide")
        return cylinder(radius, 0.1)

    class Limited(Dimension):
        def changed(self, bore, amount):
            if amount > 0:
                raise ValueError("too wide")
            return super().changed(bore, amount)

    found = variation(build, 5e-3, key="station 2", position=0.03)
    fields = ("key", "label", "unit", "value", "pieces", "position")
    limited = Limited(*(getattr(found, name) for name in fields))
    (one,) = dimension_values(build(5e-3), [limited])
    assert one.position_mm == pytest.approx(30.0)
    assert sum(one.volumes.values()) == pytest.approx(1e3 * 2 * pi * 5e-3 * 0.1, rel=1e-3)


def test_a_part_that_a_bore_has_not_is_no_quantity(case) -> None:
    plain = replace(case, geometry=replace(case.geometry, throat_volume_cm3=0.0))
    assert "throat volume" not in {*reported(plain), *unreported(plain)}
    assert reported(case)["throat volume"].unit == "cm3"


def test_volumes_change_in_percent_without_an_error(case) -> None:
    sized = replace(case, dimensions=[_dimension(volumes={"throat_volume_cm3": 0.02})])
    found = reported(sized)
    assert found["throat volume"].slopes[THROAT].value == pytest.approx(100 * 0.02 / 0.05)
    assert found["throat volume"].slopes[THROAT].uncertainty == 0
    assert found["throat volume"].noise_floor == 0
    assert found["cup volume"].slopes == {}


def _dimension(**changes):
    return DimensionValue(
        **{"key": THROAT, "label": "throat diameter", "unit": "mm", "value": 3.66} | changes
    )


def test_a_change_from_nothing_is_refused() -> None:
    percent = Reported(name="drop", unit="Pa", value=Quantity(0.0, 0.1), relative_in="percent")
    with pytest.raises(ValueError, match="drop: found a change from 0 to 1 Pa; allowed is"):
        percent.change(0.0, 1.0)
    sound = Reported(name="peak 1", unit="Hz", value=Quantity(1.0, 0.1), relative_in="cents")
    with pytest.raises(ValueError, match="peak 1: found a change from 5 to -1 Hz"):
        sound.change(5.0, -1.0)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("resonance", "resonance"),
        ("First  Resonance", "resonance"),
        ("Q", "resonance Q"),
        ("quality factor", "resonance Q"),
        ("resonance_height", "resonance impedance"),
        ("peak_4", "peak 4"),
        ("peak4 q", "peak 4 Q"),
        ("Peak 4 height", "peak 4 impedance"),
        ("peak 1", "resonance"),
        ("flow resistance at 0.2 L/s", "flow resistance at 0.2 L/s"),
        (" resistance  at 0.20L/s ", "flow resistance at 0.2 L/s"),
        ("flow_resistance at 200 mL/s", "flow resistance at 0.2 L/s"),
        ("pressure drop to the throat end at 12 L/min", "pressure drop to throat end at 0.2 L/s"),
        ("differential resistance at 0.05 L/s", "slope of pressure drop at 0.05 L/s"),
        ("backbore pressure drop", "backbore pressure drop at 0.2 L/s"),
        ("cup  Volume", "cup volume"),
    ],
)
def test_a_quantity_is_found_by_what_people_write(text: str, name: str) -> None:
    peaks = ["resonance", "resonance Q", "resonance impedance", "peak 4", "peak 4 Q"]
    names = [*peaks, "peak 4 impedance", *names_at_rate(0.05), *names_at_rate(0.2), "cup volume"]
    names.remove("backbore pressure drop at 0.05 L/s")
    assert find_quantity(text, names) == name


def test_an_unknown_quantity_is_told_what_there_is() -> None:
    names = ["resonance", "peak 4", *names_at_rate(0.05), *names_at_rate(0.2)]
    with pytest.raises(ValueError, match=r"found 'resonanse'.*did you mean resonance\?") as told:
        find_quantity("resonanse", names)
    assert all(name in str(told.value) for name in names)
    with pytest.raises(ValueError, match="without its flow rate; allowed are flow resistance at"):
        find_quantity("flow resistance", names)
    for text in ("peak 5", "flow resistance at 0.3 L/s", "flow resistance at 0.2", "frequency", ""):
        with pytest.raises(ValueError, match="no quantity here"):
            find_quantity(text, names)
