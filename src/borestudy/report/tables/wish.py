"""The returned bores of a wish as tables: their dimensions, what is wished, and what it costs."""

from collections.abc import Callable

from borestudy.quantity import spelled
from borestudy.report.captions import text
from borestudy.report.effects import signed
from borestudy.report.sentences.wish import INCH, wish_sentences, wish_work
from borestudy.report.tables.layout import Cell, Table
from borestudy.results.reported import RESISTANCE
from borestudy.results.wishes import NO_NUMBER, NOT_MET, NewQuantity, ReturnedBore, WishResult
from borestudy.rounding import MINUS, NO_VALUE, significant, with_both_errors, with_uncertainty

#: Look of a verdict that no uncertainty could turn round.
LOOKS = {NOT_MET: "bad", NO_NUMBER: "bad"}


def wish_section(found: WishResult) -> dict[str, object]:
    """All that the report says of a wish, by the names that the template has for it."""
    return {
        "sentences": wish_sentences(found),
        "tables": wish_tables(found),
        "work": wish_work(found),
    }


def wish_tables(found: WishResult) -> list[Table]:
    """Dimensions, wished quantities and costs elsewhere of the returned bores; none without one."""
    if not found.returned:
        return []
    costs = _quantities(found, _is_cost(found.returned[0]), "wish_costs")
    return [_dimensions(found), _quantities(found, lambda one: bool(one.wish), "wish_met"),
            *([costs] if costs.rows else [])]  # fmt: skip


def _is_cost(bore: ReturnedBore) -> Callable[[NewQuantity], bool]:
    """What changes beside the wish; a pressure drop does so as the flow resistance beside it."""
    drops = {
        one.quantity.replace(f"{RESISTANCE} at ", "pressure drop at ")
        for one in bore.quantities
        if one.quantity.startswith(f"{RESISTANCE} at ")
    }
    return lambda one: not one.wish and one.quantity not in drops


def _dimensions(found: WishResult) -> Table:
    head = [Cell("Dimension"), Cell("Now", "number")]
    head += [Cell(one.name.capitalize(), "number") for one in found.returned]
    rows = []
    for place, free in enumerate(found.free):
        cells = [Cell(free.label), Cell(_size(free.start, free.unit), "number")]
        for bore in found.returned:
            one = bore.dimensions[place]
            size = _size(one.value, one.unit)
            drill = one.tool is not None and one.tool.startswith("drill")
            cells.append(Cell(f"{size}, {one.tool}" if drill else size, "number"))
        rows.append(cells)
    return Table(text("tables", "wish_bores"), head, rows)


def _size(value: float, unit: str) -> str:
    """A dimension as it is set, a length in inches too."""
    return f"{value:.3f} ({value / INCH:.4f})" if unit == "mm" else f"{value:.3f}"


def _quantities(found: WishResult, belongs: Callable[[NewQuantity], bool], caption: str) -> Table:
    wished = caption == "wish_met"
    head = [Cell("Quantity"), *([Cell("Wish")] if wished else [])]
    for bore in found.returned:
        head.append(Cell(f"{bore.name.capitalize()}: change", "number"))
        head += [Cell(f"{bore.name.capitalize()}: verdict")] if wished else []
    rows = []
    for name in [one.quantity for one in found.returned[0].quantities if belongs(one)]:
        first = _of(found.returned[0], name)
        cells = [Cell(name), *([Cell(_written(first.wish))] if wished else [])]
        for bore in found.returned:
            one = _of(bore, name)
            cells.append(_change(one))
            if wished:
                cells.append(Cell(one.verdict, LOOKS.get(one.verdict, "")))
        rows.append(cells)
    return Table(text("tables", caption), head, rows)


def _written(wish: str) -> str:
    """What the study says, with a minus in place of a hyphen before a number."""
    return f"{MINUS}{wish[1:]}" if wish.startswith("-") else wish


def _of(bore: ReturnedBore, name: str) -> NewQuantity:
    return next(one for one in bore.quantities if one.quantity == name)


def _change(one: NewQuantity) -> Cell:
    """A change with its sign, its errors and its unit."""
    if one.change is None:
        return Cell(NO_VALUE, "number missing")
    if one.numerical == 0 and not one.model:
        told = significant(abs(one.change), 3)
    elif one.model:
        told = with_both_errors(abs(one.change), one.numerical, one.model, one.model)
    else:
        told = with_uncertainty(abs(one.change), one.numerical)
    sign = signed(one.change)[0] if one.change else ""
    return Cell(f"{sign}{told} {spelled(one.scale)}", "number")
