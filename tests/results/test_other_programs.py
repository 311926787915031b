"""Result files in other programs: CSV as Python's own reader and a spreadsheet take it."""

import codecs
import csv

import pandas as pd
import pytest

from borestudy.results.tables.files import read_table, write_table

TABLE = pd.DataFrame(
    {
        "case": ["entry-square", "entry, rounded", 'said "so"'],
        "resonance_Hz": [811.717467493019, 1.5e-07, float("nan")],
        "regime": ["laminar", "turbulent", "did not converge"],
        "converged": [True, True, False],
    }
)


def rows_of(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file))


def test_a_table_is_one_header_row_and_as_many_cells_in_each_row(tmp_path):
    write_table(TABLE, tmp_path / "t.csv")
    header, *rows = rows_of(tmp_path / "t.csv")
    assert header == list(TABLE.columns)
    assert [len(row) for row in rows] == [4, 4, 4]
    assert [row[0] for row in rows] == list(TABLE["case"])


def test_numbers_have_a_decimal_point_and_all_their_digits(tmp_path):
    write_table(TABLE, tmp_path / "t.csv")
    cells = [row[1] for row in rows_of(tmp_path / "t.csv")[1:]]
    assert [float(cell) for cell in cells[:2]] == [811.717467493019, 1.5e-07]
    assert not any("," in cell for cell in cells)
    assert cells[2] == ""


@pytest.mark.parametrize(("word", "marked"), [("kPa·s/L", True), ("kPa s/L", False)])
def test_letters_beyond_ascii_are_announced_by_a_byte_order_mark(tmp_path, word, marked):
    table = TABLE.assign(regime=word)
    write_table(table, tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_bytes().startswith(codecs.BOM_UTF8) == marked
    pd.testing.assert_frame_equal(read_table(tmp_path / "t.csv"), table)
    pd.testing.assert_frame_equal(pd.read_csv(tmp_path / "t.csv"), table)
