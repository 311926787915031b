"""Two figures of every case against each other, and the cases that no other one beats in both."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from borestudy.report.labels import split_unit
from borestudy.rounding import with_uncertainty
from borestudy.views.text import aligned, refused

if TYPE_CHECKING:
    import pandas as pd

    from borestudy.drawing.trade_off import Better, Column

#: What may be counted as better.
BETTER = ("lower", "higher", "near")
#: The table of a folder of results that has a row a case.
TABLE = "comparison.csv"
UNCERTAINTY = "_uncertainty"
#: Of more cases than these only the base and those that no other is better than are told.
LINES = 60
#: What is counted as better in words.
MEANINGS = {"near": "near to the base case's", "lower": "lower", "higher": "higher"}


@dataclass(frozen=True, repr=False)
class TradeOff:
    """Two columns of a table of cases.

    Attributes
    ----------
    table : DataFrame
        A row a case, the first being the one that others are compared with.
    x, y : str
        Names of the two columns.
    better : (str, str)
        What is better in each: ``lower``, ``higher``, or ``near`` to the first case's value; where
        it is None, lower of a resistance or pressure drop and near of all else.
    """

    table: "pd.DataFrame"
    x: str
    y: str
    better: tuple["Better | None", "Better | None"] = (None, None)

    def to_frame(self) -> "pd.DataFrame":
        """A row a case: both columns with their uncertainties, and whether it is non-dominated.

        A case is non-dominated where no other is at least as good in both columns and better in
        one; uncertainties play no part in it.
        """
        from borestudy.drawing.trade_off import non_dominated

        names = ["case", *self._with_uncertainty(self.x), *self._with_uncertainty(self.y)]
        kept = non_dominated(
            self.table[[self.x, self.y]].to_numpy(float), [axis.better for axis in self._axes()]
        )
        words = ["yes" if one else "no" for one in kept]
        return self.table[names].assign(non_dominated=words)

    def plot(self) -> Any:
        """Draw each case with its error bars, the first and the non-dominated ones marked.

        Returns
        -------
        matplotlib.figure.Figure
        """
        from borestudy.views.pictures import picture_of_trade_off

        labels, columns = list(self.table["case"]), self._axes()
        return picture_of_trade_off(self.table, columns, labels)

    def __repr__(self) -> str:
        """A line a case."""
        found = self.to_frame()
        axes = self._axes()
        words = [axis.words.rpartition(",")[0] or axis.words for axis in axes]
        rows = [["case", *words, ""]]
        shown = found
        if len(found) > LINES:
            kept = found["non_dominated"] == "yes"
            kept.iloc[0] = True
            shown = found[kept].head(LINES)
        for place, (_, row) in enumerate(shown.iterrows()):
            cells = [
                with_uncertainty(row[name], row.get(name + UNCERTAINTY, 0.0), split_unit(name)[1])
                for name in (self.x, self.y)
            ]
            notes = ["base"] if place == 0 else []
            notes += ["non-dominated"] if row["non_dominated"] == "yes" else []
            rows.append([row["case"], *cells, ", ".join(notes)])
        said = ", ".join(
            f"{name} {MEANINGS[axis.better]}" for name, axis in zip(words, axes, strict=True)
        )
        left = len(found) - len(shown)
        more = f"{left:,} more cases: --output FILE.csv has all, as has to_frame()."
        lines = [f"Better is: {said}.", *aligned(rows, words_last=True)]
        return "\n".join([*lines, *([more] if left else [])])

    def _axes(self) -> tuple["Column", "Column"]:
        from borestudy.report.figures.trade_off import axis_of

        along, across = (
            axis_of(self.table, name, better)
            for name, better in zip((self.x, self.y), self.better, strict=True)
        )
        return along, across

    def _with_uncertainty(self, name: str) -> list[str]:
        beside = name + UNCERTAINTY
        return [name, beside] if beside in self.table else [name]


def trade_off(
    table: "pd.DataFrame | Path | str",
    x: str,
    y: str,
    better: tuple[str | None, str | None] = (None, None),
) -> TradeOff:
    """Two columns of a table of cases, or of the comparison in a folder of results.

    Raises
    ------
    ValueError
        Naming the argument, what was found, what is allowed, and an example.
    FileError
        If a table is missing or not whole.
    """
    found = _table(table)
    numbers = [
        name
        for name in found.columns
        if not name.endswith(UNCERTAINTY)
        and found[name].dtype.kind in "fiu"
        and found[name].notna().any()
    ]
    for argument, name in (("x", x), ("y", y)):
        if name not in numbers:
            raise ValueError(refused(argument, name, numbers, note=_kind(found, name)))
    if x == y:
        other = next(name for name in numbers if name != x)
        raise ValueError(f"y: found {y!r}, as x; allowed is another column, for example {other}")
    if repeated := [case for case, count in found["case"].value_counts().items() if count > 1]:
        raise ValueError(
            f"table: found more than one row of case {repeated[0]}; allowed is a row a case, "
            f"for example {TABLE}"
        )
    for argument, word in zip(("better_x", "better_y"), better, strict=True):
        if word not in (None, *BETTER):
            raise ValueError(refused(argument, word, BETTER))
    return TradeOff(found, x, y, cast("tuple[Better | None, Better | None]", better))


def _kind(table: "pd.DataFrame", name: str) -> str:
    """What a column is that has no numbers, for a message."""
    if name not in table:
        return ""
    words = table[name].notna().any() and not name.endswith(UNCERTAINTY)
    return ", a column of words" if words else ", a column without a number of its own"


def _table(table: "pd.DataFrame | Path | str") -> "pd.DataFrame":
    if not isinstance(table, str | Path):
        found = table
    else:
        from borestudy.results.tables.files import read_table

        path = Path(table)
        if path.is_dir():
            path = path / TABLE
        if not path.is_file():
            raise ValueError(
                f"table: found {str(table)!r}, and no such file or folder of results with "
                f"{TABLE}; allowed is either, for example results/throat-sweep"
            )
        found = read_table(path)
    if "case" not in found:
        raise ValueError(
            f"table: found the columns {', '.join(map(str, found.columns))}; allowed is a table "
            f"with the column case, for example {TABLE}"
        )
    return found.assign(case=found["case"].astype(str))
