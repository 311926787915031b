"""One bore in all the ways that people write it down is one bore."""

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from borestudy.bore import BoreError, Reading, measure, measured_bore

#: Cup, throat, a step inside the backbore and a shank end, as positions and diameters [mm].
BORE = [(0, 16.4), (2.5, 15.45), (5.5, 13.2), (8.5, 9.1), (11, 3.66), (16.5, 3.66), (16.5, 3.75),
        (30.25, 4.8), (58, 6.9), (84, 8.9), (84, 9.1), (88, 9.2)]  # fmt: skip


#: Of inches as they are written here; a position from the other end is off by two halves of it [m].
LAST_DIGIT = 1.001 * 25.4e-3 * 1e-7


@dataclass(frozen=True)
class Dialect:
    """A way of writing stations down."""

    separator: str = ","
    decimal: str = "."
    unit: str = "mm"
    header: str = "position_{unit}{sep}diameter_{unit}"
    rim_first: bool = True
    from_rim: bool = True
    note: str = ""

    def text(self, bore):
        length = bore[-1][0]
        rows = [(x if self.from_rim else length - x, d) for x, d in bore]
        rows = rows if self.rim_first else rows[::-1]
        size, digits = (25.4, 7) if self.unit == "in" else (1.0, 3)
        lines = [self.separator.join(f"{value / size:.{digits}f}".replace(".", self.decimal)
                                     for value in row) for row in rows]  # fmt: skip
        named = self.header.format(unit=self.unit, sep=self.separator)
        return "\n".join([*filter(None, (self.note, named)), *lines, ""])


def read(path, text, **said):
    path.write_text(text, encoding="utf-8")
    return measure(path, Reading(**said))


HEADERS = [
    "position_{unit}{sep}diameter_{unit}", "Position ({unit}){sep}Diameter ({unit})",
    "x [{unit}]{sep}d [{unit}]", "Distance/{unit}{sep}Ø/{unit}",
    "Abstand {unit}{sep}Durchmesser {unit}",
    "position{sep}diameter", "",
]  # fmt: skip
dialects = st.builds(
    Dialect,
    separator=st.sampled_from([";", "\t", "|", " "]),
    decimal=st.sampled_from([".", ","]),
    unit=st.sampled_from(["mm", "in"]),
    header=st.sampled_from(HEADERS),
    rim_first=st.booleans(),
    from_rim=st.booleans(),
    note=st.sampled_from(["", "# a note, with 3 commas, and 1;5", "% note", "sep=;"]),
).filter(lambda one: _can_be_told(one))


def _can_be_told(one):
    """Units behind spaces are further cells, and a declared separator is the one that is used."""
    spaced = one.separator == " " and one.header not in ("", "position{sep}diameter", HEADERS[0])
    return not spaced and not (one.note == "sep=;" and one.separator != ";")


@given(dialects | st.builds(Dialect, unit=st.sampled_from(["mm", "in"]),
                            header=st.sampled_from(HEADERS), rim_first=st.booleans(),
                            from_rim=st.booleans()))  # fmt: skip
@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_every_dialect_gives_the_same_stations(tmp_path, dialect):
    found = read(tmp_path / "bore.csv", dialect.text(BORE))
    np.testing.assert_allclose(found.stations, 1e-3 * np.array(BORE), rtol=0, atol=LAST_DIGIT)
    kinds = {one.kind for one in found.findings}
    assert ("separator" in kinds) == (dialect.separator != ",")
    assert ("decimal comma" in kinds) == (dialect.decimal == ",")
    assert ("direction" in kinds) == (not (dialect.rim_first and dialect.from_rim))
    assert ("no header" in kinds) == (dialect.header == "")
    assert ("unit" in kinds) == ("{unit}" not in dialect.header)
    assert ("note" in kinds) == (bool(dialect.note) and dialect.note != "sep=;")
    assert len([one for one in found.findings if one.kind == "step"]) == 2


@st.composite
def bores(draw):
    """Stations [mm] of a bore with a cup, a throat and a backbore, to a hundredth."""
    size = st.integers
    cup, throat = draw(size(800, 1400)), draw(size(200, 800))
    length, narrow = draw(size(6000, 10000)), draw(size(300, 500))
    corners = [(0, draw(size(1400, 1800))), (cup, narrow), (cup + throat, narrow),
               (length, draw(size(800, 1000)))]  # fmt: skip
    between = draw(st.sets(size(1, length - 1), max_size=30))
    places = sorted({*between, *(x for x, _ in corners)})
    widths = np.round(np.interp(places, *np.array(corners).T))
    return [(x / 100, float(d) / 100) for x, d in zip(places, widths, strict=True)]


@given(bores(), dialects)
@settings(
    max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_bore_is_the_same_in_any_dialect(tmp_path, bore, dialect):
    plain = read(tmp_path / "plain.csv", Dialect().text(bore), outliers="keep")
    other = read(tmp_path / "other.csv", dialect.text(bore), outliers="keep")
    np.testing.assert_allclose(plain.stations, 1e-3 * np.array(bore), rtol=0, atol=1e-12)
    np.testing.assert_allclose(other.stations, plain.stations, rtol=0, atol=LAST_DIGIT)
    assert plain.throat == other.throat


@given(st.binary(max_size=400) | st.text(max_size=400).map(str.encode)
       | st.lists(st.text("0123456789.,;\t -#ab\"'\n", max_size=30)).map(
           lambda rows: "\n".join(["position_mm,diameter_mm", *rows]).encode()))  # fmt: skip
@settings(
    max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_bytes_make_stations_or_one_line_that_refuses_them(tmp_path, data):
    path = tmp_path / "any.csv"
    path.write_bytes(data)
    try:
        found = measure(path)
    except BoreError as refused:
        message = str(refused)
    else:
        message = ""
        assert (np.diff(found.stations[:, 0]) >= 0).all()
        assert (found.stations[:, 1] > 0).all()
    if message:
        assert re.fullmatch(r"any\.csv[^\n]*allowed[^\n]*for example[^\n]*", message)


#: What is written, and each finding in it: kind, lines, some of its words.
FOUND = {
    "a title before the names": (
        "A trumpet mouthpiece; on the bench\nposition_mm,diameter_mm\n0,16\n11,4\n16,4\n88,9\n",
        [("note", (1,), "not read")]),
    "notes behind cells": (
        "position_mm,diameter_mm\n0,16 # rim\n11,4\n16,4\n88,9# shank\n",
        [("note", (2, 5), "behind #")]),
    "another column": (
        "mark,position_mm,diameter_mm,who\na,0,16,x\nb,11,4,x\nc,16,4,x\nd,88,9,y\n",
        [("other columns", (1,), "columns mark, who not read")]),
    "radii": (
        "position_mm,radius_mm\n0,8\n11,2\n16,2\n88,4.5\n",
        [("radius", (1,), "a diameter is twice that")]),
    "units behind numbers": (
        'position;diameter\n0 mm;16,0 mm\n11 mm;4 mm\n16 mm;4,0 mm\n88 mm;9 mm\n',
        [("separator", (), "semicolons"), ("decimal comma", (2, 4), "16,0 mm in line 2"),
         ("unit", (2, 3, 4, 5), "behind the number")]),
    "a drill that fits": (
        "position (in),diameter (in)\n0,0.63\n0.433,drill #22\n0.63,drill 22\n3.465,0.354\n",
        [("unit", (3, 4), "behind the number")]),
    "units in a row of their own": (
        "position;diameter;mark\n(mm);(mm);\n0;16;a\n11;4;b\n16;4;c\n88;9;d\n",
        [("separator", (), "semicolons"), ("other columns", (1,), "column mark not read")]),
    "thousandths beside inches": (
        "position (in),diameter (thou)\n0,630\n0.433,157\n0.63,157\n3.465,354\n", []),
    "one name without a unit": (
        "position_mm,diameter\n0,16\n11,4\n16,4\n88,9\n",
        [("unit", (), "diameter: without a unit, taken for mm")]),
    "positions from somewhere": (
        "position_mm,diameter_mm\n5,16\n16,4\n21,4\n93,9\n",
        [("first position", (2,), "begin at 5 mm")]),
    "a column that says from where": (
        "distance from shank end mm,diameter mm\n0,9\n72,4\n77,4\n88,16\n",
        [("direction", (), "counted from the shank end, as their column says")]),
    "two passes": (
        "position_mm,diameter_mm\n0,16\n11,4\n16,4\n88,9\n88,9\n16,4\n11,4\n0,16\n",
        [("passes", (2, 7), "2 passes"), ("repeated readings", (2, 9), "mean 16 mm"),
         ("repeated readings", (3, 8), "mean 4 mm"), ("repeated readings", (4, 7), "mean 4 mm"),
         ("repeated readings", (5, 6), "mean 9 mm")]),
    "readings side by side": (
        "position_mm,d1 mm,d2 mm,d3 mm\n0,16.01,15.99,16\n11,4,4,4\n16,4,,4\n88,9,9,9\n",
        [("repeated readings", (2,), "mean 16 mm"), ("repeated readings", (3,), "mean 4 mm"),
         ("repeated readings", (4,), "2 readings at 16 mm"),
         ("repeated readings", (5,), "mean 9 mm")]),
    "rows without a number": (
        "position_mm;diameter_mm\n0;16\n;\n11;4\n\n16;4\n88;9\n;;;\n",
        [("separator", (), "semicolons")]),
}  # fmt: skip


@pytest.mark.parametrize(("text", "findings"), FOUND.values(), ids=FOUND)
def test_what_a_file_has_is_found_and_told_with_its_lines(tmp_path, text, findings):
    found = read(tmp_path / "bore.csv", text)
    np.testing.assert_allclose(
        1e3 * found.stations, [(0, 16), (11, 4), (16, 4), (88, 9)], atol=0.02
    )
    told = [one for one in found.findings if one.kind != "scatter"]
    assert [(one.kind, tuple(dict.fromkeys(one.lines))) for one in told] == [
        (kind, lines) for kind, lines, _ in findings
    ]
    for one, (*_, words) in zip(told, findings, strict=True):
        assert words in one.text
        assert one.told(found.name).startswith("bore.csv")


ENCODINGS = {"utf-16": "UTF-16", "cp1252": "Windows alphabet", "utf-8-sig": "", "utf-8": ""}


@pytest.mark.parametrize(("encoding", "words"), ENCODINGS.items())
def test_a_spreadsheets_alphabets_are_read(tmp_path, encoding, words):
    path = tmp_path / "bore.csv"
    path.write_bytes("Länge x mm;Ø mm\n0;16\n11;4\n16;4\n88;9\n".encode(encoding))
    found = measure(path)
    assert found.stations[-1].tolist() == pytest.approx([0.088, 0.009])
    told = [one.text for one in found.findings if one.kind == "text"]
    assert bool(told) == bool(words)
    assert words in " ".join(told)


REFUSED = {
    "points and commas": ("position_mm;diameter_mm\n0;16,2\n11;3.66\n16;3,66\n88;9,0\n",
                          "line 3: found the number 3.66, where line 2 has 16,2"),
    "signs between thousands": ("position_mm;diameter_mm\n0;16,2\n11;1.003,66\n88;9,0\n",
                                "line 3: diameter_mm: found 1.003,66"),
    "no unit that fits": ("position,diameter\n0,160\n110,40\n160,40\n880,90\n",
                          "make a mouthpiece neither in mm nor in inches"),
    "inches called millimetres": ("position_mm,diameter_mm\n0,0.63\n0.43,0.14\n3.46,0.35\n",
                                  "overall length: found 3.46 mm"),
    "diameters and radii": ("position_mm,diameter_mm,radius_mm\n0,16,8\n11,4,2\n88,9,4.5\n",
                            "of which any may be meant"),
    "a line out of its place": ("position_mm,diameter_mm\n0,16\n11,4\n7,7\n16,4\n88,9\n",
                                "line 4: found position 7 mm after 11 mm"),
    "a falling line out of its place": ("position_mm,diameter_mm\n88,16\n77,4\n80,7\n72,4\n0,9\n",
                                        "line 4: found position 80 mm after 77 mm"),
    "three diameters at one place": ("position_mm,diameter_mm\n0,16\n11,4\n11,5\n11,6\n88,9\n",
                                     "line 5: found a third station at 11 mm"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), REFUSED.values(), ids=REFUSED)
def test_what_may_mean_two_things_is_refused_with_its_line(tmp_path, text, words):
    with pytest.raises(BoreError) as refused:
        read(tmp_path / "bore.csv", text)
    assert words in str(refused.value)
    assert "allowed" in str(refused.value)
    assert "for example" in str(refused.value)


def test_the_study_has_the_last_word_on_the_unit_and_on_the_end(tmp_path):
    path = tmp_path / "bore.csv"
    inches = "position_mm,diameter_mm\n0,0.63\n0.43,0.14\n0.63,0.14\n3.46,0.35\n"
    found = read(path, inches, unit="in")
    assert found.stations[-1, 0] == pytest.approx(3.46 * 25.4e-3)
    assert "as the study says, against the columns' names" in " ".join(found.told)
    # A bore that widens: its wide end is the rim plane unless the study says that it is not.
    widening = "position_mm,diameter_mm\n0,9\n72,4\n77,4\n88,16\n"
    found = read(path, widening)
    assert 1e3 * found.stations[0, 1] == pytest.approx(16)
    assert "wider than the other end (16 mm, 9 mm) and nearer to the throat" in found.told[0]
    assert 1e3 * read(path, widening, first="rim").stations[0, 1] == pytest.approx(9)
    assert 1e3 * read(path, widening, first="shank").stations[0, 1] == pytest.approx(16)


@pytest.mark.parametrize("text", [
    "position_mm,diameter_mm\n0,9\n20,4\n30,4\n88,16\n", "position_mm,diameter_mm\n0,12\n88,12\n"
])  # fmt: skip
def test_where_the_diameters_do_not_say_which_end_is_the_rim_the_first_line_is(tmp_path, text):
    found = read(tmp_path / "bore.csv", text)
    assert found.stations[0].tolist() == pytest.approx([0, 1e-3 * float(text.split()[1][2:])])
    assert not [one for one in found.findings if one.kind == "direction"]


READINGS = (Path(__file__).parents[2] / "configs" / "readings-stations.csv").read_text("utf-8")
edits = st.lists(
    st.tuples(st.integers(0, 37), st.sampled_from(
        ["gone", "twice", "tabs", "points", "noted", "turned", "5", ";", "-", '"', " ", "e", ","]
    ), st.integers(0, 20)), max_size=4)  # fmt: skip


def edited(rows, place, edit, where):
    """Readings with one thing done to them that a hand or a program may do."""
    row = rows[place] if place < len(rows) else ""
    match edit:
        case "gone":
            return rows[:place] + rows[place + 1 :]
        case "twice":
            return [*rows[:place], row, *rows[place:]]
        case "turned":
            return rows[::-1]
        case "tabs":
            row = row.replace(";", "\t")
        case "points":
            row = row.replace(",", ".")
        case "noted":
            row += "  # here"
        case _:
            row = row[:where] + edit + row[where + 1 :]
    return [*rows[:place], row, *rows[place + 1 :]]


@given(edits, st.sampled_from(["", "repeated", "step"]), st.sampled_from(["keep", "leave out"]))
@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_readings_that_were_tampered_with_make_a_bore_or_are_refused(
    tmp_path, changes, same, slips
):
    rows = READINGS.splitlines()
    for change in changes:
        rows = edited(rows, *change)
    said = {"same_position": same, "outliers": slips, "smoothing": 1e-5}
    try:
        found = read(tmp_path / "bore.csv", "\n".join(rows), **said)
    except BoreError as refused:
        message, volumes = str(refused), [1.0]
    else:
        bore, message = measured_bore(found), ""
        volumes = [bore.volume(part) for part in bore.parts]
        lines = {line for one in (*found.as_read, *found.left_out) for line in one.lines}
        told = {line for one in found.findings for line in one.lines if one.kind == "note"}
        numbered = {number for number, row in enumerate(rows, start=1) if row.strip(' ;\t"')}
        # The names' line alone is no reading, and no note unless one stands behind the names.
        left = numbered - lines - told
        assert len(left) <= 1
        assert all(re.search("[a-z]{3}", rows[number - 1]) for number in left)
    assert min(volumes) > 0
    if message:
        assert re.fullmatch(r"bore\.csv[^\n]*allowed[^\n]*for example[^\n]*", message)


def test_of_two_equal_ends_the_one_nearer_to_the_throats_middle_is_the_rim(tmp_path):
    text = "position_mm,diameter_mm\n0,12\n50,4\n60,4\n88,12\n"
    found = read(tmp_path / "bore.csv", text)
    assert 1e3 * found.stations[:, 0] == pytest.approx([0, 28, 38, 88])
    assert "last line, which is nearer to the throat; positions" in found.told[0]
