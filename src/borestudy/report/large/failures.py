"""What was not computed of a study of many cases: how often each reason stands, and where."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from borestudy.report.tables.flow import is_converged, is_true
from borestudy.results.tables.files import SOLUTION_FOR

#: As many reasons are told, the most frequent first, and as many cases of each are named.
REASONS, NAMED = 20, 3
#: What a row of the verification says of a case begins with this.
CASE = "case "


@dataclass
class Failure:
    """A reason for which numbers are missing.

    `count` is how many cases it holds for, and `names` are the first of them; `reason` is the first
    case's, of which others may differ in their numbers.
    """

    what: str
    reason: str
    count: int = 0
    names: list[str] = field(default_factory=list)

    def add(self, name: str) -> None:
        """One case more."""
        self.count += 1
        if len(self.names) < NAMED:
            self.names.append(name)


def without_mesh(verification: pd.DataFrame) -> list[Failure]:
    """What cases have no mesh or no result for, and why, the most frequent reason first.

    Reasons that differ in their numbers alone are one.
    """
    found: dict[tuple[str, str], Failure] = {}
    if verification.empty:
        return []
    rows = verification[of_cases(verification)]
    for name, quantity, reason in zip(rows["check"], rows["quantity"], rows["source"], strict=True):
        what = str(quantity).removeprefix(SOLUTION_FOR)
        kind = re.sub(r"\d[\d.,e+-]*", "#", str(reason))
        failure = found.setdefault((what, kind), Failure(what, str(reason)))
        failure.add(str(name).removeprefix(CASE))
    return sorted(found.values(), key=lambda one: -one.count)


def of_cases(verification: pd.DataFrame) -> pd.Series:
    """Which rows of the verification are no checks but cases without a result, shape (n,)."""
    return verification["quantity"].fillna("").astype(str).str.startswith(SOLUTION_FOR)


def unsolved_rates(flow: pd.DataFrame) -> Mapping[float, Failure]:
    """Of each flow rate [L/s] the cases whose flow has a mesh and no solution, if any."""
    found: dict[float, Failure] = {}
    columns = ("case", "flow_rate_L_per_s", "converged", "regime", "note")
    lost = flow[~_solved(flow)]
    for row in lost[[name for name in columns if name in lost]].to_dict("records"):
        if not is_converged(row) and "not meshed" not in str(row.get("note")):
            rate = float(row["flow_rate_L_per_s"])
            words = str(row.get("note") or "did not converge")
            found.setdefault(rate, Failure("flow", words)).add(str(row["case"]))
    return dict(sorted(found.items()))


def unsolved_count(flow: pd.DataFrame) -> int:
    """How many rows of the flow's table have no solution."""
    return int((~_solved(flow)).sum())


def _solved(flow: pd.DataFrame) -> pd.Series:
    """Which rows have a solution, shape (n,); all of a table that does not say."""
    if "converged" not in flow:
        return pd.Series(True, index=flow.index)
    return flow["converged"].map(is_true).astype(bool)
