"""How the quantities of one bore scatter when it is cut within its tolerances."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.quantity import spelled
from borestudy.results.toleranced import OneTolerance, TolerancedQuantity, ToleranceResult
from borestudy.rounding import NO_VALUE, significant
from borestudy.views.foremost import foremost
from borestudy.views.text import aligned, in_two, signed

if TYPE_CHECKING:
    import pandas as pd

#: Dimensions that are told; the others have less of the variance.
DIMENSIONS = 10
UNITS = {"cents": "cents", "percent": "%"}
TENTH, INCH = 0.1, 25.4


@dataclass(frozen=True, repr=False)
class Scatter:
    """Distributions of a bore's quantities within its tolerances.

    Attributes
    ----------
    result : ToleranceResult
        Each quantity's distribution, and what each dimension has to do with it.
    """

    result: ToleranceResult

    def to_frame(self) -> "pd.DataFrame":
        """The columns of ``tolerances.csv``: rows of all errors together, and of each alone."""
        from borestudy.results.toleranced import tolerance_table

        return tolerance_table(self.result)

    def of(self, quantity: str) -> TolerancedQuantity:
        """One quantity's distribution.

        Raises
        ------
        ValueError
            Naming what was found, what is allowed, and an example.
        """
        from borestudy.results.naming import find_quantity

        known = {one.quantity: one for one in self.result.quantities}
        try:
            return known[find_quantity(quantity, known)]
        except ValueError as problem:
            raise ValueError(f"quantity: {problem}") from None

    def lines(self) -> list[str]:
        """Where 95 % of the bores lie, what to hold tighter first, and which dimension does it."""
        known = {one.quantity: one for one in self.result.quantities if one.percentiles}
        shown = [known[name] for name in foremost(list(known))]
        if not shown:
            return ["No quantity has a distribution:", *self._without()]
        rows = [["", "as drawn", "95 % of the bores", "hold tighter first", "then", "by"]]
        rows += [_quantity(one) for one in shown]
        lines = [
            "Change of 95 % of the bores cut within all tolerances, against the one drawn:",
            *aligned(rows),
            "Share of the variance, to first order:",
            *aligned(_shares(shown)),
        ]
        return lines + self._without()

    def plot(self) -> Any:
        """Draw where 68 % and 95 % of the bores lie.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        ValueError
            If no quantity has a distribution.
        """
        from borestudy.views.pictures import picture_of_scatter

        known = {one.quantity: one for one in self.result.quantities if one.percentiles}
        if not known:
            raise ValueError("no quantity of this bore has a distribution that could be drawn")
        return picture_of_scatter([known[name] for name in foremost(list(known))])

    def __repr__(self) -> str:
        """The same as `lines`."""
        return "\n".join(self.lines())

    def _without(self) -> list[str]:
        return [
            f"  {one.quantity}: {one.note}" for one in self.result.quantities if not one.percentiles
        ]


def _quantity(one: TolerancedQuantity) -> list[str]:
    unit = UNITS[one.effect_unit]
    value = NO_VALUE
    if one.value is not None:
        value = f"{significant(one.value)} {spelled(one.unit)}".rstrip()
    low, high = (signed(one.percentiles[place]) for place in (0, -1))
    tighter, then = one.tighter, NO_VALUE
    if tighter is not None and tighter.span_if_halved is not None:
        then = f"± {significant(tighter.span_if_halved / 2, 2)} {unit}"
    label = NO_VALUE if tighter is None else tighter.label
    return [one.quantity, value, f"{low} to {high} {unit}", label, then, one.method]


def _shares(shown: list[TolerancedQuantity]) -> list[list[str]]:
    """A row a dimension with its tolerance, the one with most of the variance first."""
    shares: dict[str, list[float | None]] = {}
    found: dict[str, OneTolerance] = {}
    for place, quantity in enumerate(shown):
        for one in quantity.dimensions:
            found[one.key] = one
            cells = shares.setdefault(one.key, [None] * len(shown))
            cells[place] = one.share_percent
    ranked = sorted(shares, key=lambda key: -max(share or 0.0 for share in shares[key]))
    heads = [in_two(one.quantity) for one in shown]
    rows = [
        ["", "", *(head for head, _ in heads)],
        ["dimension", "tolerance", *(rest for _, rest in heads)],
    ]
    for key in ranked[:DIMENSIONS]:
        one = found[key]
        rows.append([one.label, _size(one), *(_share(share) for share in shares[key])])
    left = ranked[DIMENSIONS:]
    if left:
        sums = [sum(shares[key][place] or 0.0 for key in left) for place in range(len(shown))]
        rows.append([f"{len(left)} others together", "", *map(_share, sums)])
    return rows


def _size(one: OneTolerance) -> str:
    """A tolerance in inches, in which a shop thinks of it, or as the number that it is."""
    if one.unit == "mm":
        return f"± {significant(one.tolerance / INCH, 3)} in"
    return f"± {significant(one.tolerance, 2)} {one.unit}".rstrip()


def _share(percent: float | None) -> str:
    if percent is None:
        return NO_VALUE
    return f"{percent:.0f} %" if percent >= 1 else "under 1 %" if percent >= TENTH else "0"
