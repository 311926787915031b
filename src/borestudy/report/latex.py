"""The comparison as LaTeX tables with the rules of the package booktabs, for a thesis."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from borestudy.files import replacing
from borestudy.report.tables.layout import Table

#: What LaTeX writes otherwise; all other letters it takes as UTF-8.
SIGNS = {
    "\\": r"\textbackslash{}", "{": r"\{", "}": r"\}", "$": r"\$", "&": r"\&", "#": r"\#",
    "_": r"\_", "%": r"\%", "~": r"\textasciitilde{}", "^": r"\textasciicircum{}",
    "±": r"$\pm$", "×": r"$\times$", "·": r"$\cdot$", "−": r"$-$", "°": r"$^{\circ}$", "—": "---",
    "–": "--", "’": "'", "\u00a0": "~", "\n": " ",
}  # fmt: skip
RAISED = zip("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789", strict=True)
_SIGNS = str.maketrans(SIGNS | {high: f"$^{{{low}}}$" for high, low in RAISED})
HEAD = "% Needs \\usepackage{booktabs}.  Wide tables: \\small, or the package adjustbox.\n"


def escaped(text: str) -> str:
    """A text as LaTeX source that prints it."""
    return text.translate(_SIGNS)


def latex_table(table: Table, label: str) -> str:
    """A printed table as a LaTeX table with booktabs' rules; words to the left, numbers right."""
    head: pd.Index = pd.Index([escaped(column.text) for column in table.columns])
    if table.groups:
        above = [escaped(name) for name, count in table.groups for _ in range(count)]
        head = pd.MultiIndex.from_arrays([above, head])
    rows = [[escaped(cell.text) for cell in row] for row in table.rows]
    frame = pd.DataFrame(rows)
    frame.columns = head
    sides = "".join("r" if "number" in column.look else "l" for column in table.columns)
    return str(
        frame.style.hide(axis="index").to_latex(
            column_format=sides,
            hrules=True,
            caption=escaped(table.caption),
            label=f"tab:{label}",
            position="htbp",
            position_float="centering",
            multicol_align="c",
        )
    )


def write_latex(path: Path, study: str, tables: Sequence[Table]) -> None:
    """Write tables below one another, each with a label made from the study's name."""
    written = [
        latex_table(table, f"{study}-{number}") for number, table in enumerate(tables, start=1)
    ]
    with replacing(path) as unfinished:
        unfinished.write_text("\n".join([HEAD, *written]), encoding="utf-8")
