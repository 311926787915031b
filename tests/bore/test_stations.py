"""Bores from measured stations."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from borestudy.bore import Bore, BoreError, bore_from_stations

Make = Callable[..., Bore]
Write = Callable[..., Path]
STATIONS = [(0, 16), (5, 12), (11, 4), (16, 4), (40, 6), (40, 6.5), (88, 9)]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """A CSV of stations, or of the lines given."""

    def csv(*stations: tuple[float, float] | str, header: str = "position_mm,diameter_mm") -> Path:
        path = tmp_path / "stations.csv"
        rows = [row if isinstance(row, str) else f"{row[0]},{row[1]}" for row in stations]
        path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
        return path

    return csv


def ends(bore: Bore) -> list[tuple[float, float]]:
    points = [bore.segments[0].start, *(segment.stop for segment in bore.segments)]
    return [(round(1e3 * x, 9), round(2e3 * r, 9)) for x, r in points]


def test_straight_lines_keep_every_station_and_step(write: Write) -> None:
    bore = bore_from_stations(write(*STATIONS), "straight")
    assert ends(bore) == STATIONS
    assert [segment.is_step for segment in bore.segments].count(True) == 1
    assert float(bore.radius(0.040)) == pytest.approx(3.25e-3)


def test_the_narrowest_stretch_is_the_throat(write: Write) -> None:
    bore = bore_from_stations(write(*STATIONS))
    assert bore.parts == ("cup", "throat", "backbore")
    assert bore.part_ranges["throat"] == pytest.approx((0.011, 0.016))


@pytest.mark.parametrize("join", ["straight", "smooth"])
def test_a_single_narrowest_station_still_makes_a_throat(write: Write, join: str) -> None:
    bore = bore_from_stations(write((0, 16), (11, 4), (40, 6), (88, 9)), join)  # type: ignore[arg-type]
    start, stop = bore.part_ranges["throat"]
    assert start < 0.011 < stop
    # Up to 0.002 in wider than the narrowest, by which two readings of one diameter may differ.
    np.testing.assert_allclose(bore.radius([start, stop]), 2e-3 + 0.0254e-3, rtol=1e-9)


def test_dimensions_and_their_stations_make_the_same_bore(make: Make, write: Write) -> None:
    stations = [(0, 16), (11, 4), (16, 4), (88, 9)]
    measured, designed = bore_from_stations(write(*stations)), make(cup_shape=0)
    for part in designed.parts:
        assert measured.volume(part) == pytest.approx(designed.volume(part), rel=1e-12)


def test_inches_and_millimetres_make_the_same_bore(write: Write) -> None:
    metric = bore_from_stations(write(*STATIONS))
    inches = [(f"{x / 25.4!r},{d / 25.4!r}") for x, d in STATIONS]
    imperial = bore_from_stations(write(*inches, header="position_in,diameter_in"))
    assert ends(imperial) == ends(metric)


def test_smooth_passes_the_stations_without_overshoot(write: Write) -> None:
    bore = bore_from_stations(write(*STATIONS), "smooth")
    x, d = np.array(STATIONS[:5]).T
    between = np.linspace(0, 39.999, 200)
    radii = bore.radius(1e-3 * between)
    np.testing.assert_allclose(2e3 * radii, PchipInterpolator(x, d)(between), rtol=1e-9)
    assert radii.min() >= 2e-3 * (1 - 1e-12)
    assert float(bore.radius(0.040)) == pytest.approx(3.25e-3)


def test_positions_count_from_the_first_station(write: Write) -> None:
    moved = [(x + 3, d) for x, d in STATIONS]
    assert ends(bore_from_stations(write(*moved))) == STATIONS


def test_notes_and_other_columns_are_passed_over(write: Write) -> None:
    path = write("# measured with a gauge", "a,16,0", "b,4,11", "c,9,88",
                 header="mark,diameter_mm,position_mm")  # fmt: skip
    assert ends(bore_from_stations(path))[0] == (0, 16)


@pytest.mark.parametrize(
    ("rows", "header", "words"),
    [
        (STATIONS, "place,width", "found the columns place, width"),
        (STATIONS, "position_mm,diameter_in", "allowed are position_mm and diameter_mm"),
        ([], "position_mm,diameter_mm", "found 0 station(s)"),
        (["0,16"], "position_mm;diameter_mm", "line 2: found 1 cell(s) in '0,16' for 2 columns"),
        (["0,16"], "position_mm\tdiameter_mm", "found 1 cell(s) in '0,16' for 2 columns"),
        (["5,12"], "0,16", "found no unit in it, and a length of 5 and diameters from 12 to 16"),
        (["5,12,3"], "0,16,2", "line 1: found 3 number(s) 0, 16, 2 and no line before that names"),
        (STATIONS, "position_mm,diameter_mm,position_in,diameter_in", "in both units"),
        (["0,16,16"], "position_mm,diameter_mm,diameter_mm", "the column diameter_mm twice"),
        (
            ["0,16", "11,3,66", "88,9"],
            "position_mm,diameter_mm",
            "line 3: found 3 cell(s) in '11,3,66' for 2 columns (is a decimal sign a comma",
        ),
        (["0,16,rim", "11,3,66,throat"], "position_mm,diameter_mm,mark", "a decimal sign a comma"),
        # Three cells are as many as the columns, but only where the others have a mark as well.
        (["0,16", "11,3,66"], "position_mm,diameter_mm,mark", "line 2: found 2 cell(s)"),
        (["0,16", "11,3.66,"], "position_mm,diameter_mm", "line 3: found 3 cell(s)"),
        (
            ["0;16", "88;9"],
            "position_mm,diameter_mm",
            "line 2: found 1 cell(s) in '0;16' for 2 columns, with semicolons between them",
        ),
        (["0\t16", "88\t9"], "position_mm,diameter_mm", "with tabs between them"),
        (
            ["0,16.2", '11,"3,66"'],
            "position_mm,diameter_mm",
            "line 3: found the number 3,66, where line 2 has 16.2; allowed is one decimal sign",
        ),
        (["0,1_6", "88,9"], "position_mm,diameter_mm", "line 2: diameter_mm: found 1_6"),
        (["0,16", "5,"], "position_mm,diameter_mm", "line 3: diameter_mm: found nothing"),
        (["0,16", "5,wide"], "position_mm,diameter_mm", "line 3: diameter_mm: found wide"),
        (["0,16", "5,-4"], "position_mm,diameter_mm", "found -4; allowed is a number above zero"),
        (["0,16", "nan,4"], "position_mm,diameter_mm", "line 3: position_mm: found nan"),
        (["0,16", "9,4", "7,5", "88,9"], "position_mm,diameter_mm", "line 4: found position 7 mm"),
        (["0,16", "9,4", "9,5", "9,6", "88,9"], "position_mm,diameter_mm", "a third station"),
        (["0,16", "9" * 200_000], "position_mm,diameter_mm", "line 3: found '999"),
        (["0,16", "1," * 1000], "position_mm,diameter_mm", "line 3: found 1001 cell(s)"),
        (["0,16", "5,\0"], "position_mm,diameter_mm", r"diameter_mm: found '\x00'; allowed"),
        (["0,16"], "x," * 1000, "found the columns x, x"),
        (["0,16"] * 200_000, "position_mm,diameter_mm", "found more than 1,000,000 characters"),
        ([], "", "found no line in it"),
        (["0,16", "0,15", "88,9"], "position_mm,diameter_mm", "a step at the first position"),
        (["0,16", "88,8", "88,9"], "position_mm,diameter_mm", "a step at the last position"),
        (["0,0.6", "3.5,0.35"], "position_mm,diameter_mm", "another unit"),
        (["0,16", "88,9"], "position_in,diameter_in", "another unit"),
        (["0,16", "11,0.144", "88,9"], "position_mm,diameter_mm", "line 3: diameter"),
    ],
)
def test_a_file_that_makes_no_bore_is_refused_with_its_line(
    write: Write, rows: list, header: str, words: str
) -> None:
    with pytest.raises(BoreError) as refused:
        bore_from_stations(write(*rows, header=header))
    assert refused.value.key == "stations"
    assert words in str(refused.value)
    assert str(refused.value).startswith("stations.csv")
    assert "allowed" in str(refused.value)
    assert "for example" in str(refused.value)
    assert len(str(refused.value)) < 400


def test_a_missing_file_is_refused_with_its_name(tmp_path: Path) -> None:
    with pytest.raises(BoreError, match=r"gone\.csv: cannot be read"):
        bore_from_stations(tmp_path / "gone.csv")
