"""The bores that come nearest to a wish, what they cost elsewhere, and what stands in the way."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.quantity import spelled
from borestudy.results.wishes import (
    MET,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    WishResult,
)
from borestudy.rounding import MINUS, NO_VALUE, in_short, significant, with_uncertainty
from borestudy.views.text import aligned, signed

if TYPE_CHECKING:
    import pandas as pd

#: Quantities beside the wish that are told of a bore; the others are in the table.
ELSEWHERE = 6
INCH = 25.4
RESISTANCE, DROP = "flow resistance at ", "pressure drop at "
UNITS = {"cents": "cents", "percent": "%"}


@dataclass(frozen=True, repr=False)
class WishedBores:
    """The bores that come nearest to a wish, and how they were found.

    Attributes
    ----------
    result : WishResult
        The bores that were solved and those that come nearest, with all figures.
    """

    result: WishResult

    @property
    def met(self) -> bool:
        """Whether the best bore meets the wish."""
        return self.result.met

    @property
    def bores(self) -> tuple[ReturnedBore, ...]:
        """The bores that come nearest, best first."""
        return self.result.returned

    def to_frame(self) -> "pd.DataFrame":
        """The columns of ``wishes.csv``: a row a bore and dimension or quantity of it."""
        from borestudy.results.tables.wishes import wishes_table

        return wishes_table(self.result)

    def lines(self) -> list[str]:
        """What a maker reads: the answer in sentences, then each bore in figures."""
        from borestudy.report.sentences.wish import wish_sentences, wish_work

        found = self.result
        lines = wish_sentences(found)
        lines += [work] if (work := wish_work(found)) else []
        for bore in found.returned:
            lines += self._bore(bore)
        return lines

    def plot(self) -> Any:
        """Draw every solve's wished quantities and dimensions, the returned bores filled.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        ValueError
            If there is no way to draw.
        """
        from borestudy.views.pictures import picture_of_wish

        return picture_of_wish(self.result)

    def __repr__(self) -> str:
        """The same as `lines`."""
        return "\n".join(self.lines())

    def _bore(self, bore: ReturnedBore) -> Iterator[str]:
        unmet = "may meet" if bore.may_meet else "does not meet"
        yield f"{bore.name}, which {'meets' if bore.met else unmet} the wish:"
        yield from aligned([_dimension(one) for one in bore.dimensions], words_last=True)
        wished = [one for one in bore.quantities if one.wish]
        beside = self._beside(bore)
        rows = [["", "before", "now", "change", "wish"], *map(_quantity, wished)]
        if beside:
            rows.append(["beside the wish", "", "", "", ""])
            rows += map(_quantity, beside[:ELSEWHERE])
        yield from aligned(rows, words_last=True)
        if len(beside) > ELSEWHERE:
            yield f"  and {len(beside) - ELSEWHERE} more that change less"

    def _beside(self, bore: ReturnedBore) -> list[NewQuantity]:
        """What changes beside the wish, the greatest change first.

        A pressure drop at a rate changes as the flow resistance there does, and is left out.
        """
        resistance = {
            one.quantity.replace(RESISTANCE, DROP)
            for one in bore.quantities
            if one.quantity.startswith(RESISTANCE)
        }
        found = [
            one
            for one in bore.quantities
            if not one.wish and _is_change(one) and one.quantity not in resistance
        ]
        return sorted(found, key=lambda one: -abs(one.change or 0.0))


def _length(value: float, unit: str) -> str:
    """A dimension in its unit, a length in inches too."""
    text = f"{significant(value, 5)} {unit}".rstrip()
    return f"{text} ({value / INCH:.4f} in)" if unit == "mm" else text


def _dimension(one: NewDimension) -> list[str]:
    unit = f" {one.unit}" if one.unit else ""
    changed = f"{signed(one.change, 3)}{unit}" if abs(one.change) > 5e-7 else "as it was"
    tool = one.tool if one.tool and one.tool.startswith("drill") else ""
    return [one.label, _length(one.value, one.unit), changed, tool]


def _is_change(one: NewQuantity) -> bool:
    """Whether a quantity changes by more than what two solutions may differ by."""
    return one.change is not None and abs(one.change) > (one.numerical or 0.0)


def _quantity(one: NewQuantity) -> list[str]:
    unit = spelled(one.unit)
    before = _known(one.before, None, unit)
    after = _known(one.after, one.after_uncertainty, unit)
    change = _known(one.change, one.uncertainty, UNITS[one.scale])
    if one.change is not None and not change.startswith((MINUS, f"({MINUS}")):
        change = f"+{change}"
    return [one.quantity, before, after, change, _wish(one)]


def _known(value: float | None, uncertainty: float | None, unit: str) -> str:
    """A number with its uncertainty, or alone to four digits where it is exact."""
    if value is None:
        return NO_VALUE
    if not uncertainty:
        return f"{significant(value)} {unit}".rstrip()
    return with_uncertainty(value, uncertainty, unit)


def _wish(one: NewQuantity) -> str:
    if not one.wish:
        return ""
    if one.miss is None or one.verdict == MET:
        return f"{one.wish}: {one.verdict}"
    error = in_short(abs(one.miss), one.miss_uncertainty, UNITS[one.scale])
    return f"{one.wish}: {one.verdict}, {error} off"
