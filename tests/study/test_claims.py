"""Claims files: what each writing means, and what is said of a mistake."""

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from borestudy.study import StudyError, load_study, read_claims

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"
HEAD = "quantity,case,value,unit,tolerance,where\n"


@pytest.fixture(scope="module")
def study():
    return load_study(DEMO)


@pytest.fixture
def claims(study, tmp_path):
    def read(text, name="claims.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return read_claims(study, path)

    return read


@pytest.fixture
def claim(claims):
    def read(line):
        (found,) = claims(f"{HEAD}{line}\n")
        return found

    return read


@pytest.mark.parametrize(
    ("line", "value", "tolerance", "unit"),
    [
        ("resonance,square,0.812,kHz,2 Hz,", 812.0, 2.0, "Hz"),
        ("resonance,square,812 Hz,,0.5 %,", 812.0, 4.06, "Hz"),
        ("resonance,square,800 Hz,,1200 cents,", 800.0, 800.0, "Hz"),
        ("resonance Q,square,1.90,,,", 1.9, 0.005, ""),
        ("resonance impedance,square,39.3,MPa·s/m³,± 1,", 39.3e6, 1e6, "Pa_s_per_m3"),
        ("pressure_drop at 0.05 L/s,square,0.148,hPa,,", 14.8, 0.05, "Pa"),
        ("flow resistance at 50 mL/s,square,3e5 Pa·s/m³,,,", 0.3, 0.05, "kPa_s_per_L"),
        ("cup volume,square,1330 mm³,,0.01 cm³,", 1.33, 0.01, "cm3"),
        ("throat velocity at 0.05 L/s,square,476,cm/s,1 %,", 4.76, 0.0476, "m_per_s"),
        ("throat Reynolds number at 0.05 L/s,square,1116,,,", 1116.0, 0.5, ""),
        ("change of resonance,square,−5,cents,1 cents,", -5.0, 1.0, "cents"),
        ("change of pressure drop at 0.2 L/s,square,-4.7 %,,0.5 %,", -4.7, 0.5, "percent"),
    ],
)  # fmt: skip
def test_a_claim_is_read_into_the_unit_of_results(claim, line, value, tolerance, unit):
    found = claim(line)
    assert found.value == pytest.approx(value)
    assert found.tolerance == pytest.approx(tolerance)
    assert found.unit == unit
    assert found.written == " ".join(line.split(",")[2:4]).replace("−", "-").strip()
    # and the author's own unit leads back to what was written
    written = found.value * found.written_factor
    number = line.split(",")[2].split()[0].replace("−", "-")
    assert written == pytest.approx(float(number))


def test_a_claim_without_a_tolerance_is_meant_to_half_of_its_last_digit(claim):
    found = claim("resonance,square,811.7,Hz,,")
    assert found.tolerance == pytest.approx(0.05)
    assert found.tolerance_source == "last digit"
    assert claim("resonance,square,811.7,Hz,1 %,").tolerance_source == "stated"


def test_a_claim_knows_its_rate_its_figure_and_where_it_stands(claim):
    found = claim("change of flow resistance at 0.05 L/s,square,1,%,,page 12")
    assert (found.figure, found.rate_L_per_s, found.is_change) == ("flow resistance", 0.05, True)
    assert found.quantity == "change of flow resistance at 0.05 L/s"
    assert (found.where, found.line) == ("page 12", 2)
    assert claim("resonance,square,1,Hz,,").where == "line 2"


@pytest.mark.parametrize("written", ["entry_radius-0.50mm", "rounded 0.5 mm"])
def test_a_case_is_called_by_its_name_or_its_words(claim, written):
    assert claim(f"resonance,{written},812,Hz,,").case == "entry_radius-0.50mm"


@pytest.mark.parametrize(
    "written",
    [
        "throat.entry: rounded 0.50 mm",
        "throat.entry = rounded 500 um; cup.depth = 1.08 cm",
        "bore.throat.entry: rounded 0.5 mm, throat.diameter: 0.144 in",
    ],
)
def test_a_case_is_found_by_its_dimensions_however_they_are_written(claims, written):
    (found,) = claims(f'quantity,dimensions,value\nresonance,"{written}",812 Hz\n')
    assert found.case == "entry_radius-0.50mm"


def test_a_spreadsheets_semicolons_decimal_commas_and_comments_are_read(claims):
    (found,) = claims(
        "# from the chapter\nQuantity; Case; Value; Unit; Tolerance\n\n"
        "resonance; square; 811,7; Hz; 0,5 Hz\n"
    )
    assert (found.value, found.tolerance, found.line) == (811.7, 0.5, 4)


@pytest.mark.parametrize("head", ["", "claims:\n"])
def test_yaml_says_the_same_as_csv(claims, claim, head):
    text = "- {quantity: resonance, dimensions: {throat.entry: square}, value: 812, unit: Hz,\n"
    text += "   tolerance: 2 Hz, where: p. 3}\n"
    (found,) = claims(head + text, "claims.yaml")
    same = claim("resonance,square,812,Hz,2 Hz,p. 3")
    assert found.__dict__ | {"line": 2} == same.__dict__
    assert found.line == 1 + bool(head)


#: A line of a CSV file, the column that is named, and what is said of it.
LINES = {
    "unknown quantity": ("resonanse,square,812,Hz,,", "quantity", ["did you mean resonance?"]),
    "quantity without its rate": (
        "friction in the throat,square,5,Pa,,", "quantity",
        ["did you mean friction in the throat at 0.05 L/s?"]),
    "rate that the study has not": (
        "throat velocity at 0.07 L/s,square,5,m/s,,", "quantity",
        ["'0.07 L/s'", "0.05 L/s, 0.1 L/s", "for example throat velocity at 0.05 L/s"]),
    "change of what has none": (
        "change of throat velocity at 0.05 L/s,square,5,%,,", "quantity", ["no quantity"]),
    "missing quantity": (",square,812,Hz,,", "quantity", ["missing"]),
    "unknown case": (
        "resonance,squar,812,Hz,,", "case", ["'squar'", "did you mean square?", "entry-square"]),
    "missing case": ("resonance,,812,Hz,,", "case", ["missing", "for example entry-square"]),
    "missing value": ("resonance,square,,Hz,,", "value", ["missing"]),
    "value in words": (
        "resonance,square,eight,Hz,,", "value", ["'eight'", "a frequency as a number"]),
    "value beyond numbers": ("resonance,square,1e99999,Hz,,", "value", ["'1e99999'"]),
    "division by zero": ("resonance,square,1/0,Hz,,", "value", ["1/0"]),
    "missing unit": ("resonance,square,812,,,", "unit", ["missing", "Hz, kHz"]),
    "wrong unit": ("resonance,square,812,Pa,,", "unit", ["'Pa'", "a frequency with a unit"]),
    "unit of a number": ("resonance Q,square,1.9,Hz,,", "unit", ["'Hz'", "no unit"]),
    "two units": ("resonance,square,812 Hz,kHz,,", "unit", ["'kHz'", "for example Hz"]),
    "unit of a change": ("change of resonance,square,5,Hz,,", "unit", ["'Hz'", "cents"]),
    "tolerance of nothing": ("resonance,square,812,Hz,0 Hz,", "tolerance", ["above zero"]),
    "tolerance below zero": ("resonance,square,812,Hz,-1 %,", "tolerance", ["'-1 %'"]),
    "tolerance in another unit": ("resonance,square,812,Hz,1 Pa,", "tolerance", ["'1 Pa'"]),
    "tolerance in words": ("resonance,square,812,Hz,about,", "tolerance", ["'about'"]),
    "place of a thousand letters": (
        f"resonance,square,812,Hz,,{'x' * 1000}", "where", ["300 characters"]),
}  # fmt: skip


@pytest.mark.parametrize(("line", "column", "words"), LINES.values(), ids=LINES)
def test_a_mistake_is_told_with_its_line_its_column_and_an_example(claim, line, column, words):
    with pytest.raises(StudyError) as refused:
        claim(line)
    message = str(refused.value)
    assert "\n" not in message
    assert f"claims.csv, line 2: {column}: " in message
    assert "for example " in message
    for word in words:
        assert word in message


FILES = {
    "unknown column": (
        "claims.csv", "quantity,valeu\n", "line 1: valeu: unknown column; did you mean value?"),
    "column twice": ("claims.csv", "quantity,value,value\n", "line 1: value: found twice"),
    "missing column": ("claims.csv", "quantity\n", "line 1: value: missing"),
    "too few cells": (
        "claims.csv", f"{HEAD}resonance,square,812\n", "line 2: found 3 cells; allowed are the 6"),
    "nothing": ("claims.csv", "", "found no claim"),
    "head alone": ("claims.csv", HEAD, "found no claim"),
    "dimensions of no case": (
        "claims.csv", "quantity,dimensions,value\nresonance,cup.depth: 9 mm,812 Hz\n",
        "line 2: dimensions: found 'cup.depth: 9 mm', which is no case of this study"),
    "dimensions of every case": (
        "claims.csv", "quantity,dimensions,value\nresonance,cup.depth: 10.8 mm,812 Hz\n",
        "line 2: dimensions: found 'cup.depth: 10.8 mm', which is 5 cases"),
    "unknown dimension": (
        "claims.csv", "quantity,dimensions,value\nresonance,cup.dept: 10.8 mm,812 Hz\n",
        "line 2: dimensions.cup.dept: not a dimension of this bore; did you mean cup.depth?"),
    "dimension without a unit": (
        "claims.csv", "quantity,dimensions,value\nresonance,cup.depth: 10.8,812 Hz\n",
        "line 2: dimensions.cup.depth: found '10.8', a number without a unit"),
    "dimensions that are none": (
        "claims.csv", "quantity,dimensions,value\nresonance,deep,812 Hz\n",
        "line 2: dimensions: found 'deep'"),
    "case and dimensions": (
        "claims.csv",
        "quantity,case,dimensions,value\nresonance,square,throat.entry: square,812 Hz\n",
        "line 2: dimensions: found 'throat.entry: square' beside a case"),
    "unknown key": (
        "claims.yaml", "- quantity: resonance\n  case: square\n  vlaue: 3 Hz\n  value: 3 Hz\n",
        "line 3: vlaue: unknown key; did you mean value?"),
    "missing key": ("claims.yaml", "- {quantity: resonance}\n", "line 1: value: missing"),
    "no mapping": ("claims.yaml", "- 3\n", "line 1: found 3; allowed is a mapping"),
    "no list": ("claims.yaml", "3\n", "found 3; allowed is a list of claims"),
    "other section": ("claims.yaml", "claim: []\n", "claim: unknown key; allowed is claims alone"),
    "truth for a number": (
        "claims.yaml", "- {quantity: resonance, case: square, value: yes}\n",
        "line 1: value: found True"),
    "no YAML": ("claims.yaml", "- {quantity\n", "not YAML"),
}  # fmt: skip


@pytest.mark.parametrize("value", ["[1, 2]", "{a: 3}", "true"])
@pytest.mark.parametrize("key", ["quantity", "case", "value", "unit", "tolerance", "where"])
def test_what_is_no_text_in_yaml_is_told_with_its_key_and_line(claims, key, value):
    right = {"quantity": "resonance", "case": "square", "value": "812", "unit": "Hz",
             "tolerance": "1 %", "where": "p. 3"}  # fmt: skip
    text = "- # one\n" + "".join(f"  {name}: {one}\n" for name, one in right.items())
    assert len(claims(text, "claims.yaml")) == 1
    with pytest.raises(StudyError) as refused:
        claims(text.replace(f"{key}: {right[key]}", f"{key}: {value}"), "claims.yaml")
    line = 2 + list(right).index(key)
    assert f"claims.yaml, line {line}: {key}: found " in str(refused.value)
    assert "for example " in str(refused.value)


@pytest.mark.parametrize(("name", "text", "told"), FILES.values(), ids=FILES)
def test_a_file_that_holds_no_claims_is_told_with_its_line(claims, name, text, told):
    with pytest.raises(StudyError) as refused:
        claims(text, name)
    message = str(refused.value)
    assert "\n" not in message
    assert told in message
    assert "for example " in message


def test_every_mistake_of_a_file_is_told(claims):
    with pytest.raises(StudyError) as refused:
        claims(f"{HEAD}resonance,squar,812,Hz,,\nresonance,square,812,Pa,,\n")
    first, second = str(refused.value).splitlines()
    assert "line 2: case:" in first
    assert "line 3: unit:" in second


def test_a_study_names_its_claims_and_one_without_has_none(study, tmp_path):
    assert read_claims(study) == []
    text = DEMO.read_text(encoding="utf-8") + "claims: mine.csv\n"
    (tmp_path / "study.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(StudyError, match=r"claims: found 'mine.csv', and no such file"):
        load_study(tmp_path / "study.yaml")
    (tmp_path / "mine.csv").write_text(f"{HEAD}resonance,square,812,Hz,,\n")
    loaded = load_study(tmp_path / "study.yaml")
    assert [one.case for one in read_claims(loaded)] == ["entry-square"]
    # They decide no number of the study.
    assert loaded.input_files() == []


def test_claims_that_are_no_file_are_refused_by_their_key(tmp_path):
    (tmp_path / "study.yaml").write_text(DEMO.read_text(encoding="utf-8") + "claims: 3\n")
    with pytest.raises(StudyError, match=r"claims: found 3; allowed is .*for example claims.csv"):
        load_study(tmp_path / "study.yaml")


def test_a_claims_file_that_is_missing_is_told(study, tmp_path):
    with pytest.raises(StudyError, match=r"none\.csv: cannot be read .*for example"):
        read_claims(study, tmp_path / "none.csv")


CELLS = {
    "quantity": ["resonance", "resonance Q", "change of resonance", "cup volume",
                 "flow resistance at 0.05 L/s", "throat velocity at 0.1 L/s"],
    "case": ["square", "rounded 1 mm", "entry-square"],
    "value": ["812", "-3.5", "1/3", "7e-9", "0", "0.30 kPa·s/L"],
    "unit": ["Hz", "cents", "%", "kPa·s/L", "cm³", "m/s", ""],
    "tolerance": ["1 %", "0.5 Hz", "2 cents", "1e-12", ""],
    "where": ["page 3", ""],
}  # fmt: skip


@settings(
    deadline=None,
    max_examples=300,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    row=st.fixed_dictionaries(
        {name: st.sampled_from(cells) | st.text(max_size=12) for name, cells in CELLS.items()}
    )
)
def test_a_claim_is_understood_or_refused_and_never_a_crash(claims, row):
    quoted = ['"{}"'.format(cell.replace('"', '""')) for cell in row.values()]
    told = ""
    try:
        found = claims(",".join(row) + "\n" + ",".join(quoted) + "\n")
    except StudyError as problem:
        found, told = [], str(problem)
    assert bool(found) != ("for example " in told)
    for one in found:
        assert math.isfinite(one.value)
        assert 0 < one.tolerance < math.inf
        assert 0 < one.written_factor < math.inf
