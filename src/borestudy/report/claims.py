"""The page of a text's claims: which agree with what was computed, and why the others do not."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from borestudy.files import replacing
from borestudy.report.captions import text
from borestudy.report.sources import Source
from borestudy.report.tables.layout import SIZES, Cell, Row, Table
from borestudy.report.templating import template
from borestudy.rounding import NO_VALUE, is_missing, significant, with_uncertainty

AGREES, DISAGREES = "agrees", "disagrees"
#: How a verdict looks.
LOOKS = {AGREES: "", DISAGREES: "bad"}
COLUMNS = (
    ("Where", ""), ("Bore", ""), ("Quantity", ""), ("Claimed ± tolerance", "number"),
    ("Computed ± uncertainty", "number"), ("Difference, %", "number"), ("Result", ""),
    ("Likely cause", ""),
)  # fmt: skip


@dataclass(frozen=True)
class ClaimsPage:
    """What the page shows: the study's name and question, and its table of claims.

    ``labels`` are the words for each case by its name in the table.
    """

    title: str
    question: str
    claims: pd.DataFrame
    labels: Mapping[str, str] = field(default_factory=dict)


class _Whole(Table):
    """A table that is printed to its end: the page is about nothing else."""

    @property
    def paper_rows(self) -> int:
        """All rows."""
        return len(self.rows)


def write_claims_page(path: Path, page: ClaimsPage) -> None:
    """Write the page as HTML without time stamps and paths: the same results, the same bytes."""
    rows = [page_row(row, page.labels) for row in page.claims.to_dict("records")]
    html = template("claims.html.j2").render(
        page=page,
        summary=summary(page.claims),
        wrong=[sentence(row) for row in rows if row["verdict"] == DISAGREES],
        open=[sentence(row) for row in rows if row["verdict"] not in (AGREES, DISAGREES)],
        table=printed_claims(rows),
        sizes=SIZES,
    )
    with replacing(path) as unfinished:
        unfinished.write_text(html, encoding="utf-8")


def summary(claims: pd.DataFrame) -> str:
    """How many claims agree, disagree and cannot be decided, in a sentence."""
    count = len(claims)
    agree, disagree = (int((claims["verdict"] == word).sum()) for word in (AGREES, DISAGREES))
    rest = count - agree - disagree
    parts = [f"{agree} agree{'s' * (agree == 1)}", f"{disagree} disagree{'s' * (disagree == 1)}"]
    parts += [f"{rest} cannot be decided within the uncertainty"] if rest else []
    listed = f"{', '.join(parts[:-1])} and {parts[-1]}"
    of = "the one claim" if count == 1 else f"{count} claims"
    return f"Of {of} {listed}."


def page_row(row: Row, labels: Mapping[str, str]) -> dict[str, str]:
    """The texts of a claim, by what they are."""
    unit = "" if is_missing(row["unit"]) else str(row["unit"])
    computed = NO_VALUE
    if not is_missing(row["computed"]):
        either = max(row["high"] - row["computed"], row["computed"] - row["low"])
        computed = with_uncertainty(row["computed"], either, unit)
    percent = row["distance_percent"]
    tolerance = significant(row["tolerance"], 2)
    cause = explained = "" if is_missing(row["cause"]) else str(row["cause"])
    if cause:
        value = f"{significant(row['cause_value'], 4)} {unit}".strip()
        explained = f"{cause} ({row['cause_explained']}), which gives {value}"
    others = "" if is_missing(row["other_causes"]) else str(row["other_causes"])
    return {
        "where": str(row["where"]),
        "case": labels.get(str(row["case"]), str(row["case"])),
        "quantity": str(row["quantity"]),
        "claimed": f"{str(row['written']).removesuffix(unit).strip()} ± {tolerance} {unit}".strip(),
        "value": str(row["written"]),
        "computed": computed,
        "percent": NO_VALUE if is_missing(percent) else f"{_signed(float(percent))}",
        "verdict": str(row["verdict"]),
        "cause": explained,
        "others": others,
        "likely": f"{cause}, or {others}" if others else cause,
        "note": "" if is_missing(row["note"]) else str(row["note"]),
    }


def sentence(row: Mapping[str, str]) -> str:
    """A claim that does not agree, in a sentence or two."""
    told = f"{row['where']}: {row['quantity']}, {row['case']}: {row['value']} claimed"
    if row["note"]:
        return f"{told}; {row['note']}."
    told += f" and {row['computed']} computed."
    if row["verdict"] != DISAGREES:
        return f"{told} The computed value is not known to within the claim’s tolerance."
    if not row["cause"]:
        return f"{told} None of the causes that were tried gives the claimed value."
    told += f" Likely cause: {row['cause']}."
    return f"{told} It may also be {row['others']}." if row["others"] else told


def printed_claims(rows: list[dict[str, str]]) -> Table:
    """All claims, a row each."""
    cells = []
    for row in rows:
        look = LOOKS.get(row["verdict"], "missing")
        cells.append(
            [
                Cell(row["where"]),
                Cell(row["case"]),
                Cell(row["quantity"]),
                Cell(row["claimed"], "number"),
                Cell(row["computed"], "number"),
                Cell(row["percent"], "number"),
                Cell(row["verdict"], look),
                Cell(row["likely"] or NO_VALUE, "" if row["likely"] else "missing"),
            ]
        )
    columns = [Cell(*column) for column in COLUMNS]
    return _Whole(text("tables", "claims"), columns, cells, source=Source(("claims.csv",), "how"))


def _signed(value: float) -> str:
    sign = "+" if value > 0 else ""
    return sign + significant(value, 3)
