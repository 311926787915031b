"""What a study's bores are, before anything is computed: a line a case, and what is doubtful."""

from collections.abc import Sequence

from borestudy.bore import Bore, BoreError, describe
from borestudy.bore.outliers import doubtful_stations
from borestudy.drills import nearest_drill
from borestudy.study import Case

HEADER = (
    "case", "overall length", "throat diameter", "nearest drill", "throat from", "throat length",
    "cup volume", "backbore volume",
)  # fmt: skip
UNITS = ("", "mm", "mm (in)", "(in)", "mm", "mm", "cm³", "cm³")
#: Doubtful stations of one file that are told one by one.
TOLD = 5


def bore_row(name: str, bore: Bore) -> list[str]:
    """Cells of a case's line under `HEADER`, the length being the overall one."""
    facts = describe(bore)
    throat = facts["throat_diameter_mm"]
    drill = nearest_drill(1e-3 * throat)
    return [
        name,
        f"{facts['length_mm']:.2f}",
        f"{throat:.3f} ({throat / 25.4:.4f})",
        f"{drill[0]} ({drill[1] / 25.4e-3:.4f})" if drill else "none",
        f"{1e3 * bore.throat_start:.2f}",
        f"{facts['throat_length_mm']:.2f}",
        f"{facts['cup_volume_cm3']:.3f}",
        f"{facts['backbore_volume_cm3']:.3f}",
    ]


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines, in columns."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  " + "  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]


def station_cautions(case: Case) -> list[str]:
    """A caution for each station of a measured bore that its neighbours do not suggest."""
    told = []
    for path in case.input_files():
        try:
            lines = doubtful_stations(path)
        except BoreError as problem:
            lines = [str(problem)]
        told += [f"{line}; is it a slip of reading or writing?" for line in lines[:TOLD]]
        if len(lines) > TOLD:
            told.append(f"{path.name}: so are {len(lines) - TOLD} more stations")
    return told
