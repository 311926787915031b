"""The laminar and the turbulent solution of each case beside each other, differences first.

Each total may be far off where the flow is neither; a change from one case to another is believed
in its direction where both solutions have the same word for it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from .changes import HIGHER, LOWER, NO_DIFFERENCE, NO_RESULT, Change, change_of_levels
from .rounding import is_missing, significant, with_uncertainty

SOLUTIONS = ("laminar", "turbulent")
PARTS = ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop")
SAME_RATE = 1e-6
BOTH, ONE = "both solutions agree", "the two solutions disagree"
LAMINAR_ALONE = "laminar alone: the closure is not for so low a Reynolds number"


def solution_rows(
    laminar: Mapping[str, Mapping[str, Any]], turbulent: Mapping[str, Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """One row a case and rate.

    Parameters
    ----------
    laminar, turbulent : mapping
        What ``flow.json`` and ``closure.json`` hold of each case, the study's first case first.
    """
    first = next(iter(laminar))
    return [
        _row(name, first, rate["flow_rate_L_per_s"], laminar, turbulent)
        for name in laminar
        for rate in laminar[name]["rates"]
    ]


def _row(
    name: str,
    first: str,
    rate: float,
    laminar: Mapping[str, Mapping[str, Any]],
    turbulent: Mapping[str, Mapping[str, Any]],
) -> dict[str, Any]:
    row: dict[str, Any] = {
        "case": name,
        "flow_rate_L_per_s": rate,
        "throat_reynolds": _at(laminar[name], rate).get("throat_reynolds"),
    }
    changes = []
    for word, found in zip(SOLUTIONS, (laminar, turbulent), strict=True):
        own, base = _at(found[name], rate), _at(found[first], rate)
        for part in PARTS:
            for suffix in ("", "_uncertainty"):
                row[f"{part}_{word}_Pa{suffix}"] = own.get(f"{part}_Pa{suffix}")
        change = _change(own, base)
        changes.append(change)
        row[f"resistance_change_{word}_percent"] = change.value
        row[f"resistance_change_{word}_percent_uncertainty"] = change.uncertainty
        row[f"resistance_change_{word}_verdict"] = change.verdict
        row[f"converged_{word}"] = own.get("converged")
    row["change"] = agreement(*changes) if _at(turbulent[name], rate) else LAMINAR_ALONE
    closed = _at(turbulent[name], rate)
    for key in ("y_plus", "wall_resolution", "section_mass_flux", "residual"):
        row[f"{key}_turbulent"] = closed.get(key)
    return row


def solution_answers(
    rows: Sequence[Mapping[str, Any]], labels: Mapping[str, str] | None = None
) -> list[str]:
    """What both solutions say of the last case against the first, in a sentence.

    Parameters
    ----------
    rows : sequence of mapping
        Of `solution_rows`, or of the table made from them.
    labels : mapping, optional
        What each case is called in the sentence.

    Returns
    -------
    list of str
        Empty where no rate has both solutions of both cases.
    """
    names = list(dict.fromkeys(row["case"] for row in rows))
    called = {name: (labels or {}).get(name, name) for name in names}
    told = []
    for row in rows:
        figures = [row[f"resistance_change_{word}_percent"] for word in SOLUTIONS]
        agree = str(row["change"]).startswith((BOTH, ONE))
        if row["case"] != names[-1] or len(names) < 2 or not agree or any(map(is_missing, figures)):
            continue
        errors = [row[f"resistance_change_{word}_percent_uncertainty"] for word in SOLUTIONS]
        parts = " and ".join(
            f"{word} {with_uncertainty(figure, None if is_missing(error) else error)} %"
            for word, figure, error in zip(SOLUTIONS, figures, errors, strict=True)
        )
        told.append(f"{significant(row['flow_rate_L_per_s'])} L/s {parts} ({row['change']})")
    if not told:
        return []
    first, last = called[names[0]], called[names[-1]]
    return [
        f"Computed both ways, laminar and fully turbulent, the flow resistance of {last} "
        f"differs from that of {first} at {'; at '.join(told)}. A direction is to be "
        "believed where both agree; each size is one end of what may be."
    ]


def agreement(laminar: Change, turbulent: Change) -> str:
    """Whether both solutions have the same word for a change, and which."""
    words = {laminar.verdict, turbulent.verdict}
    if words == {LOWER} or words == {HIGHER} or words == {NO_DIFFERENCE}:
        return f"{BOTH}: {laminar.verdict}"
    if words <= {LOWER, HIGHER, NO_DIFFERENCE}:
        return f"{ONE}: laminar {laminar.verdict}, turbulent {turbulent.verdict}"
    return NO_RESULT


def _change(own: Mapping[str, Any], base: Mapping[str, Any]) -> Change:
    key = "pressure_drop_Pa"
    stated = (own.get(f"{key}_uncertainty") or 0.0, base.get(f"{key}_uncertainty") or 0.0)
    if own is base and own.get(key) is not None:
        return Change(0.0, 0.0, NO_DIFFERENCE)
    return change_of_levels(
        own.get("levels", {}).get(key, []), base.get("levels", {}).get(key, []), stated=stated
    )


def _at(found: Mapping[str, Any], rate: float) -> Mapping[str, Any]:
    for row in found["rates"]:
        if abs(row["flow_rate_L_per_s"] - rate) <= SAME_RATE * rate:
            return row
    return {}
