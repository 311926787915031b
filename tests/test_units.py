"""Quantities as a workshop writes them, against the definitions of the units."""

import math
from functools import partial
from itertools import pairwise

import pytest

from borestudy.drills import DRILL_SIZES, nearest_drill
from borestudy.units import (
    FLOW_RATE,
    FREQUENCY,
    MASS_PER_AREA,
    PRESSURE,
    SHARE,
    TEMPERATURE,
    UnitError,
    drill_name,
    parse,
    parse_angle,
    parse_length,
    quoted,
    split_list,
)

parse_temperature = partial(parse, kind=TEMPERATURE)
parse_flow_rate = partial(parse, kind=FLOW_RATE)
parse_frequency = partial(parse, kind=FREQUENCY)
parse_share = partial(parse, kind=SHARE)
parse_pressure = partial(parse, kind=PRESSURE)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("3.66 mm", 3.66),
        ("3.66mm", 3.66),
        ("1.2 cm", 12.0),
        ("0.088 m", 88.0),
        ("250 µm", 0.25),
        ("0.144 in", 3.6576),
        ('.144"', 3.6576),
        ("144 thou", 3.6576),
        ("144 mil", 3.6576),
        ("9/64 in", 3.571875),
        ("drill 27", 3.6576),
        ("drill #27", 3.6576),
        ("Drill No. 27", 3.6576),
        ("drill letter F", 6.5278),
        ("drill f", 6.5278),
        ("drill 9/64", 3.571875),
    ],
)
def test_an_inch_is_25_4_mm_in_every_way_of_writing_a_length(text, millimetres):
    # Written in metres: 1e-3 times the number of millimetres would round twice.
    assert parse_length(text) == float(f"{millimetres}e-3")


@pytest.mark.parametrize("text", ["9 kg/m²", "9 kg/m2", "9kg/m^2", "0.9 g/cm²", "0.9 g/cm2"])
def test_a_gram_per_square_centimetre_is_ten_kilograms_per_square_metre(text):
    assert parse(text, MASS_PER_AREA) == 9.0


# Metric column of the machinists’ tables, rounded to 0.01 mm (Machinery’s Handbook,
# "Standard drill sizes", from memory).
@pytest.mark.parametrize(
    ("name", "millimetres"),
    [("80", 0.34), ("60", 1.02), ("50", 1.78), ("43", 2.26), ("35", 2.79), ("30", 3.26),
     ("27", 3.66), ("25", 3.80), ("22", 3.99), ("20", 4.09), ("10", 4.91), ("7", 5.11), ("1", 5.79),
     ("A", 5.94), ("F", 6.53), ("I", 6.91), ("O", 8.03), ("U", 9.35), ("Z", 10.49)],
)  # fmt: skip
def test_drill_sizes_agree_with_the_metric_column_of_the_handbook(name, millimetres):
    assert 1e3 * parse_length(f"drill {name}") == pytest.approx(millimetres, abs=0.0051)


def test_number_sizes_80_to_1_then_letters_a_to_z_grow_without_a_step_back():
    names = [str(number) for number in range(80, 0, -1)]
    names += [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    diameters = [parse_length(f"drill {name}") for name in names]
    assert len(DRILL_SIZES) == 106
    assert all(first < second for first, second in pairwise(diameters))


def test_letter_e_is_a_quarter_inch():
    assert parse_length("drill E") == parse_length("1/4 in")


def test_neighbouring_drill_numbers_differ_by_less_than_a_tenth_down_to_number_60():
    # A slip of a digit in the table would stand out as a jump.
    sizes = [float(DRILL_SIZES[str(number)]) for number in range(1, 61)]
    assert max(a / b for a, b in pairwise(sizes)) < 1.12


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (parse_temperature, "25 degC", 298.15),
        (parse_temperature, "25°C", 298.15),
        (parse_temperature, "-5 degC", 268.15),
        (parse_temperature, "298 K", 298.0),
        (parse_temperature, "77 degF", 298.15),
        (parse_temperature, "-40 degF", 233.15),
        (parse_flow_rate, "0.3 L/s", 3e-4),
        (parse_flow_rate, "300 cm³/s", 3e-4),
        (parse_flow_rate, "300 cm3/s", 3e-4),
        (parse_flow_rate, "300 mL/s", 3e-4),
        (parse_flow_rate, "18 L/min", 3e-4),
        (parse_frequency, "50 Hz", 50.0),
        (parse_frequency, "5 kHz", 5000.0),
        (parse_share, "50 %", 0.5),
        (parse_pressure, "101.325 kPa", 101325.0),
        (parse_pressure, "1013.25 hPa", 101325.0),
        (parse_pressure, "1013.25 mbar", 101325.0),
        (parse_pressure, "1.01325 bar", 101325.0),
        (parse_pressure, "101325 Pa", 101325.0),
        (parse_angle, "45 deg", math.pi / 4),
        (parse_angle, "30°", math.pi / 6),
    ],
)
def test_a_quantity_is_its_number_times_its_unit(parse, text, value):
    assert parse(text) == value


@pytest.mark.parametrize(
    ("text", "entries"),
    [
        ("0.05, 0.1, 0.2 L/s", ["0.05 L/s", "0.1 L/s", "0.2 L/s"]),
        ("[0.05, 0.1] L/s", ["0.05 L/s", "0.1 L/s"]),
        ("50 mL/s, 0.1 L/s", ["50 mL/s", "0.1 L/s"]),
        ("0.1 L/s", ["0.1 L/s"]),
    ],
)
def test_a_list_with_one_unit_gives_that_unit_to_every_number(text, entries):
    assert split_list(text) == entries


@pytest.mark.parametrize(
    ("parse", "found", "words"),
    [
        (parse_length, 88, ["88", "without a unit", "mm", "thou", "drill", "3.66 mm"]),
        (parse_length, "88", ["'88'", "without a unit", "3.66 mm"]),
        (parse_length, "3,66 mm", ["'3,66 mm'", "comma", "3.66 mm"]),
        (parse_length, "88 furlongs", ["'88 furlongs'", "'furlongs' is not known", "3.66 mm"]),
        (parse_length, "0.1 L/s", ["'0.1 L/s'", "a length", "3.66 mm"]),
        (parse_length, "mm", ["'mm'", "a length", "3.66 mm"]),
        (parse_length, "1/0 in", ["'1/0 in'", "zero", "3.66 mm"]),
        (parse_length, "1e999999999 mm", ["'1e999999999 mm'", "a length", "3.66 mm"]),
        (parse_length, None, ["None", "a length", "3.66 mm"]),
        (parse_length, True, ["True", "a length", "3.66 mm"]),
        (parse_length, "drill 81", ["'drill 81'", "1 to 80", "A to Z", "drill 27"]),
        (parse_length, "drill 0", ["'drill 0'", "1 to 80", "drill 27"]),
        (parse_length, "drill AB", ["'drill AB'", "A to Z", "drill F"]),
        (parse_length, "drill 9/63", ["'drill 9/63'", "fraction of an inch", "drill 9/64"]),
        # What is left of an unquoted "drill #27" once YAML has taken the comment off.
        (parse_length, "drill", ["'drill'", "begins a comment in YAML", "drill 27"]),
        (parse_temperature, "25 deg", ["'25 deg'", "degC", "K", "25 degC"]),
        (parse_flow_rate, "0.3 L", ["'0.3 L'", "L/s", "0.05 L/s"]),
        (parse_frequency, "50 mm", ["'50 mm'", "Hz", "50 Hz"]),
        (parse_share, 0.5, ["0.5", "without a unit", "%", "50 %"]),
        (parse_pressure, "1 atm", ["'1 atm'", "kPa", "101.325 kPa"]),
        (parse_angle, "1 rad", ["'1 rad'", "deg", "45 deg"]),
    ],
)
def test_a_refusal_says_what_was_found_what_is_allowed_and_an_example(parse, found, words):
    with pytest.raises(UnitError) as refused:
        parse(found)
    message = str(refused.value)
    assert "\n" not in message
    assert [word for word in [*words, "allowed is", "for example"] if word not in message] == []


def test_what_is_not_a_drill_has_no_drill_name():
    assert drill_name("3.66 mm") is None


@pytest.mark.parametrize(
    ("diameter", "name"),
    [(3.66e-3, "drill 27"), (3.60e-3, "drill 9/64"), (6.35e-3, "drill E"), (0.35e-3, "drill 80"),
     (12.7e-3, "drill 1/2"), (20e-3, "drill 25/32")],
)  # fmt: skip
def test_the_nearest_drill_is_named(diameter, name):
    found, size = nearest_drill(diameter)
    assert found == name
    assert size == parse_length(name)


def test_no_drill_is_near_a_diameter_beyond_all_sizes():
    assert nearest_drill(0.2) is None


def test_what_was_found_is_shown_whole_up_to_80_characters_and_cut_to_80_beyond():
    assert quoted("x" * 78) == f"'{'x' * 78}'"
    cut = quoted("x" * 79)
    assert len(cut) == 80
    assert cut == f"'{'x' * 75} ..."


@pytest.mark.parametrize(
    ("text", "told"), [("drill", True), ("drill 27.5", False), ("drill 99", False)]
)
def test_a_comment_sign_is_suspected_only_where_nothing_follows_the_word(text, told):
    with pytest.raises(UnitError) as caught:
        parse_length(text)
    assert ("where # begins a comment" in str(caught.value)) == told
