"""What a small change of each dimension does to each quantity of one bore."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.quantity import spelled
from borestudy.rounding import NO_VALUE, is_missing, significant, with_uncertainty
from borestudy.views.foremost import foremost
from borestudy.views.text import aligned, in_two, signed

if TYPE_CHECKING:
    import pandas as pd

    from borestudy.bore import Bore
    from borestudy.results.case import CaseResults

#: Columns of the effects that are told: of a length, and of a pure number.
THOUSANDTH, PERCENT = "effect_of_0.001_in", "effect_of_1_percent"
#: More dimensions than these are in the table alone.
DIMENSIONS = 14
WORDS = {"cents": "cents", "percent": "%"}


@dataclass(frozen=True, repr=False)
class Sensitivities:
    """Effects of every dimension of one bore on every quantity, to first order.

    Attributes
    ----------
    table : DataFrame
        The columns of ``sensitivities.csv``: a row a dimension and quantity.
    bore : Bore, optional
        The bore, in whose section the stations of a measured one are drawn.
    """

    table: "pd.DataFrame"
    bore: "Bore | None" = None

    def to_frame(self) -> "pd.DataFrame":
        """A table with a row for each dimension and quantity; columns carry their units."""
        return self.table.copy()

    @property
    def quantities(self) -> list[str]:
        """Names of the quantities that have a number, in the table's order."""
        return list(dict.fromkeys(self.table["quantity"][self._known()]))

    @property
    def dimensions(self) -> list[str]:
        """Keys of the dimensions, in the table's order."""
        return list(dict.fromkeys(self.table["dimension"][self._known()]))

    def _known(self) -> "pd.Series[bool]":
        return ~self.table["dimension"].map(is_missing)

    def of(self, quantity: str) -> "pd.DataFrame":
        """The rows of one quantity, the dimension with the greatest effect first.

        Raises
        ------
        ValueError
            Naming what was found, what is allowed, and an example.
        """
        name = self.named(quantity)
        chosen = self._known() & (self.table["quantity"] == name)
        return self.table[chosen].sort_values("rank", kind="stable")

    def named(self, quantity: str) -> str:
        """The name of the quantity that words mean; a ValueError as `of` has it."""
        from borestudy.results.naming import find_quantity

        try:
            return find_quantity(quantity, self.quantities)
        except ValueError as problem:
            raise ValueError(f"quantity: {problem}") from None

    def lines(self, quantities: Sequence[str] = ()) -> list[str]:
        """Dimensions by quantities as lines of text, ranked by the first of the quantities.

        Parameters
        ----------
        quantities : sequence of str, optional
            Names of the columns; the ones that matter most by default.
        """
        shown = [self.named(name) for name in quantities] or foremost(self.quantities)
        if not shown:
            return ["No quantity has a number:", *self._without_number()]
        ranked = self.of(shown[0])
        columns = [self.of(name).set_index("dimension") for name in shown]
        first = [column.iloc[0] for column in columns]
        heads = [in_two(name) for name in shown]
        rows = [
            ["", "", *(head for head, _ in heads)],
            ["dimension", "value", *(rest for _, rest in heads)],
            ["", "", *(WORDS[row["effect_unit"]] for row in first)],
        ]
        for _, row in ranked.head(DIMENSIONS).iterrows():
            cells = [_effect(column, row["dimension"]) for column in columns]
            rows.append([_label(row), _size(row), *cells])
        rows.append(["noise floor", "", *(_floor(row) for row in first)])
        left = len(ranked) - DIMENSIONS
        return [
            *(f"{name}: {_with_unit(row)}" for name, row in zip(shown, first, strict=True)),
            "Effect of +0.001 in (of a shape or taper: +1 % of its range), to first order; "
            "~ is within the noise floor:",
            *aligned(rows),
            *([f"  and {left} more dimensions with less effect"] if left > 0 else []),
            *self._without_number(),
        ]

    def _without_number(self) -> list[str]:
        rows = self.table[~self._known()]
        return [
            f"  {quantity}: {note}"
            for quantity, note in zip(rows["quantity"], rows["note"], strict=True)
        ]

    def plot(self, rate: float | None = None) -> Any:
        """Draw each dimension's effect of 0.001 in, ranked; along the axis of a measured bore.

        Parameters
        ----------
        rate : float, optional
            The flow rate [L/s] of what is drawn of the flow; the lowest by default.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        ValueError
            If there is no such rate, or no effect is known.
        """
        from borestudy.views.pictures import picture_of_sensitivities

        rates = sorted(self.table["flow_rate_L_per_s"].dropna().unique())
        if rate is not None and not any(math.isclose(rate, one) for one in rates):
            allowed = ", ".join(f"{one:g}" for one in rates) or "none"
            raise ValueError(
                f"rate: found {rate!r}; allowed is one of {allowed} (in L/s)"
                + (f", for example {rates[0]:g}" if rates else "")
            )
        chosen = rate if rate is not None else next(iter(rates), None)
        return picture_of_sensitivities(self.table, chosen, self.bore)

    def __repr__(self) -> str:
        """The foremost quantities as lines of text."""
        return "\n".join(self.lines())


def of_case(case: "CaseResults", bore: "Bore | None" = None) -> Sensitivities:
    """The sensitivities of one case that was solved with its derivatives."""
    from borestudy.results.sensitivities import sensitivities_table

    return Sensitivities(sensitivities_table([case]), bore)


def _effect(column: "pd.DataFrame", dimension: str) -> str:
    if dimension not in column.index:
        return NO_VALUE
    row = column.loc[dimension]
    told = PERCENT if is_missing(row[THOUSANDTH]) else THOUSANDTH
    return f"{'~' if row['above_noise'] == 'no' else ''}{signed(row[told])}"


def _label(row: Any) -> str:
    """A dimension in words; a station with its number, since two at a step have one position."""
    words = str(row["dimension_label"])
    return words if is_missing(row.get("position_mm")) else f"{row['dimension']}: {words}"


def _floor(row: Any) -> str:
    floor = row["noise_floor"]
    return NO_VALUE if is_missing(floor) else f"± {significant(float(floor), 2)}"


def _size(row: Any) -> str:
    unit = row["dimension_unit"]
    # A straight taper is held as one that is bent by next to nothing.
    return significant(round(float(row["dimension_value"]), 6)) + (
        "" if is_missing(unit) else f" {spelled(unit)}"
    )


def _with_unit(row: Any) -> str:
    unit = "" if is_missing(row["unit"]) else spelled(row["unit"])
    return with_uncertainty(row["value"], row["uncertainty"], unit)
