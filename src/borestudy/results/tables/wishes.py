"""The table of a wish: a row for each returned bore and each of its dimensions and quantities."""

import pandas as pd

from borestudy.results.wishes import ReturnedBore, WishResult

#: Millimetres of an inch.
INCH = 25.4
DIMENSION, QUANTITY = "dimension", "quantity"
COLUMNS = (
    "bore", "solve", "met", "row", "name", "unit", "before", "after", "after_uncertainty",
    "after_in", "tool", "change", "change_unit", "change_uncertainty", "numerical_uncertainty",
    "model_error", "wish", "miss", "miss_uncertainty", "within", "verdict",
)  # fmt: skip


def wishes_table(found: WishResult) -> pd.DataFrame:
    """All that is known of the returned bores against the bore that the search began with.

    A wish that no bore within its limits can follow has no rows.
    """
    rows = [row for bore in found.returned for row in _rows(bore)]
    return pd.DataFrame(rows, columns=COLUMNS)


def _rows(bore: ReturnedBore) -> list[dict[str, object]]:
    head: dict[str, object] = {
        "bore": bore.name,
        "solve": bore.solve,
        "met": "yes" if bore.met else "no",
    }
    rows = [
        head
        | {
            "row": DIMENSION,
            "name": one.key,
            "unit": one.unit,
            "before": one.value - one.change,
            "after": one.value,
            "after_in": one.value / INCH if one.unit == "mm" else None,
            "tool": one.tool,
            "change": one.change,
            "change_unit": one.unit,
        }
        for one in bore.dimensions
    ]
    for each in bore.quantities:
        rows.append(
            head
            | {
                "row": QUANTITY,
                "name": each.quantity,
                "unit": each.unit,
                "before": each.before,
                "after": each.after,
                "after_uncertainty": each.after_uncertainty,
                "change": each.change,
                "change_unit": each.scale,
                "change_uncertainty": each.uncertainty,
                "numerical_uncertainty": each.numerical,
                "model_error": each.model,
                "wish": each.wish or None,
                "miss": each.miss,
                "miss_uncertainty": each.miss_uncertainty,
                "within": each.within,
                "verdict": each.verdict or None,
            }
        )
    return rows
