"""Air columns are read as measured bores are."""

import numpy as np
import pytest

from borestudy.acoustics.termination import read_air_column


@pytest.fixture
def write(tmp_path):
    def column(text):
        path = tmp_path / "column.csv"
        path.write_text(text)
        return path

    return column


def test_inches_are_read_as_inches(write):
    column = read_air_column(write("position_in, diameter_in\n0, 0.4\n10, 0.5\n"))
    np.testing.assert_allclose(column.positions, [0, 0.254])
    np.testing.assert_allclose(column.radii, [0.00508, 0.00635])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("position_mm,diameter_mm\n0,9\n10,\n20,11\n", "line 3: diameter_mm: found nothing"),
        ("position_mm,diameter_mm\n0,9\n10,x\n", "line 3: diameter_mm: found x"),
        ("position_mm,diameter_mm\n0,9\n10,11,5\n", "line 3: found 3 cell.*decimal sign"),
        ("position_mm;diameter_mm\n0,9\n", "found 1 cell.*for 2 columns, with commas between"),
        ("# note\nposition_mm,diameter_mm\n0,9\n20,9\n10,9\n", "line 5: found position 10 mm"),
        ("position_mm,diameter_mm\n0,9\n", r"found 1 station"),
        ("x,d\n0,9\n10,9\n", "found no unit.*; allowed are position_mm and diameter_mm"),
        ("a,b\n0,9\n10,9\n", "found the columns a, b; allowed are position_mm and diameter_mm"),
    ],
)
def test_a_file_that_makes_no_column_is_refused_with_its_line(write, text, message):
    with pytest.raises(ValueError, match=message) as refused:
        read_air_column(write(text))
    assert str(refused.value).startswith("air column column.csv")
