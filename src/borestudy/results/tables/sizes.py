"""Which studies are so large that their tables are in Parquet beside CSV."""

#: Rows below the head that a spreadsheet takes: 2^20 lines in all (Excel and LibreOffice Calc,
#: from their published limits, from memory).
SPREADSHEET_ROWS = 2**20 - 1
#: Number of cases from which on a study has its tables in Parquet as well.
LARGE = 1000
#: The tables with a row or more for each case.
TABLES_OF_CASES = (
    "cases", "comparison", "peaks", "flow", "impedance", "stream", "energy", "separations",
    "sensitivities", "hand_formulas",
)  # fmt: skip
#: The same of studies with lips alone.
TABLES_OF_LIPS = ("onset", "onset_changes", "tone", "tone_changes", "tone_harmonics")


def is_large(cases: int, points: int) -> bool:
    """Whether a study of so many cases and frequencies has its tables in Parquet beside CSV.

    From `LARGE` cases on, and where ``impedance.csv`` alone would have more rows than a spreadsheet
    takes.
    """
    return cases >= LARGE or cases * points > SPREADSHEET_ROWS
