"""What a study's bores are, before anything is computed: a line a case."""

from collections.abc import Sequence

from borestudy.bore import Bore, describe
from borestudy.drills import nearest_drill

HEADER = (
    "case", "overall length", "throat diameter", "nearest drill", "throat from", "throat length",
    "cup volume", "backbore volume",
)  # fmt: skip
UNITS = ("", "mm", "mm (in)", "(in)", "mm", "mm", "cm³", "cm³")


def bore_row(name: str, bore: Bore) -> list[str]:
    """Cells of a case's line under `HEADER`, the length being the overall one."""
    facts = describe(bore)
    throat = facts.throat_diameter_mm
    drill = nearest_drill(1e-3 * throat)
    return [
        name,
        f"{facts.length_mm:.2f}",
        f"{throat:.3f} ({throat / 25.4:.4f})",
        f"{drill[0]} ({drill[1] / 25.4e-3:.4f})" if drill else "none",
        f"{1e3 * bore.throat_start:.2f}",
        f"{facts.throat_length_mm:.2f}",
        f"{facts.cup_volume_cm3:.3f}",
        f"{facts.backbore_volume_cm3:.3f}",
    ]


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines, in columns."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  " + "  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]
