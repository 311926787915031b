"""One row a flow rate from the laminar and the turbulent solution, with the span between them.

Which solution the air follows no steady model knows, so the answer is a span wherever the throat's
Reynolds number allows both.  Up to 2000 the laminar solution alone is the answer.  From 2500 on,
where the turbulent one is solved as well, the span reaches from the least to the greatest of the
two, each less or plus its own numerical uncertainty; the handbooks stand beside it.  Where one of
the two did not converge, and between 2000 and 2500, the handbooks are the other end.  The same
holds for the two halves of the bore, up to the throat's end and behind it.

A merged row has the figures of one solution (`solution`: the laminar one where it is solved and
converged), the ends of each span with the source of each end, and the other solution's row under
`turbulent`.
"""

import math
from collections.abc import Mapping
from typing import Any, Literal

from borestudy.flow.regime import regime
from borestudy.results.spans import SMOOTH_ENTRY_SHARE

Row = Mapping[str, Any]
Mode = Literal["laminar", "turbulent", "both"]

LAMINAR, TURBULENT, HANDBOOK = "laminar", "turbulent", "handbook"
SOLUTIONS = (LAMINAR, TURBULENT)
#: The pressure drops that have a span: whole, and its two halves.
DROPS = ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop")
#: What is known of a rate whatever the solution.
GIVEN = (
    "flow_rate_L_per_s", "throat_reynolds", "throat_velocity_m_per_s", "dynamic_pressure_Pa",
    "mach_number", "regime", "handbook",
)  # fmt: skip
LAST_RATE = "last_converged_flow_rate_L_per_s"
REFUSED = (
    "no number: below a throat Reynolds number of 2500 the turbulent solution would not turn "
    "laminar again as the air does"
)
BOTH_SOLUTIONS = "between both solutions"
#: Between the sources of both halves of a span's end.
AND = " and "
SAME = 1e-6


def merged_flow(
    laminar: Mapping[str, Any],
    turbulent: Mapping[str, Any],
    mode: Mode = "both",
    given: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """What a case's two solutions say, as one mapping like ``flow.json``.

    Parameters
    ----------
    laminar, turbulent : mapping
        Contents of ``flow.json`` and ``closure.json``; empty where there is no file.
    mode : {"laminar", "turbulent", "both"}
        Which of them the study asks for; the other is left out, whatever a former run left.
    given : mapping, optional
        What is known before anything is solved: ``tolerance``, and under ``rates`` a row a flow
        rate with its Reynolds number, regime and handbook spans.

    Returns
    -------
    dict
        Empty where nothing was computed.
    """
    found = {
        LAMINAR: laminar if mode != TURBULENT else {},
        TURBULENT: turbulent if mode != LAMINAR else {},
    }
    computed = [found[word] for word in SOLUTIONS if found[word]]
    if not computed:
        return {}
    known = given or {}
    tolerance = computed[0].get("tolerance", known.get("tolerance"))
    listed = [row for source in (known, *computed) for row in source.get("rates", [])]
    rates = sorted({row["flow_rate_L_per_s"]: None for row in listed})
    rates = [rate for i, rate in enumerate(rates) if i == 0 or not _same(rate, rates[i - 1])]
    rows = [
        _merged(
            row_at(known, rate),
            row_at(found[LAMINAR], rate),
            row_at(found[TURBULENT], rate),
            mode,
            tolerance,
        )
        for rate in rates
    ]
    solved = [row["flow_rate_L_per_s"] for row in rows if row["converged"]]
    for row in rows:
        if not row["converged"]:
            row[LAST_RATE] = max(solved, default=None)
    warnings = dict.fromkeys(text for source in computed for text in source.get("warnings", []))
    whole: dict[str, Any] = {"tolerance": tolerance} if tolerance is not None else {}
    unmeshed = {word: of["not_meshed"] for word, of in found.items() if "not_meshed" in of}
    if unmeshed:
        whole["not_meshed"] = unmeshed
    return {**computed[0], **whole, "warnings": list(warnings), "rates": rows}


def row_at(found: Mapping[str, Any], rate: float) -> Row:
    """The row of a flow rate [L/s]; empty where there is none."""
    for row in found.get("rates", []):
        if _same(row["flow_rate_L_per_s"], rate):
            return row
    return {}


def _same(rate: float, other: float) -> bool:
    return abs(rate - other) <= SAME * abs(rate)


def solution_row(row: Row, solution: str | None = None) -> Row:
    """One solution's figures at a rate, by default those the row has; empty where there are none.

    Parameters
    ----------
    row : mapping
        A merged row.
    solution : {"laminar", "turbulent"}, optional
        Which.
    """
    if solution in (None, row.get("solution", LAMINAR)):
        return row if row.get("converged") else {}
    other: Row = row.get(TURBULENT) or {}
    return other if solution == TURBULENT and other.get("converged") else {}


def is_judged_by_both(row: Row) -> bool:
    """Whether the rate was to be solved both ways, so that nothing is claimed by one alone."""
    return all(row.get(f"{word}_converged") is not None for word in SOLUTIONS)


def _merged(
    given: Row, laminar: Row, turbulent: Row, mode: Mode, tolerance: float | None
) -> dict[str, Any]:
    """One rate's row from what is known of it before, and from each solution's own row."""
    common = {key: row[key] for row in (laminar, turbulent, given) for key in GIVEN if key in row}
    if "throat_reynolds" in common:
        common.setdefault("regime", regime(common["throat_reynolds"]))
    common["handbook"] = {**laminar.get("handbook", {}), **given.get("handbook", {})}
    if turbulent:
        turbulent = {**turbulent, **_tolerance_reached(turbulent, tolerance)}
    solved = [
        word
        for word, row in zip(SOLUTIONS, (laminar, turbulent), strict=True)
        if row.get("converged")
    ]
    figures: Row = laminar
    if not laminar or (not laminar.get("converged") and TURBULENT in solved):
        figures = turbulent
    merged: dict[str, Any] = {
        **figures,
        **common,
        "solution": solved[0] if solved else None,
        "converged": bool(solved),
        "laminar_converged": laminar.get("converged"),
        "turbulent_converged": turbulent.get("converged"),
    }
    if turbulent:
        merged[TURBULENT] = turbulent
    if not solved:
        note = "no number: " + _lost(laminar, turbulent)
        return merged | {"span_note": note if laminar or turbulent else REFUSED}
    if not turbulent:
        return merged | _sources_as_found(merged)
    return merged | _span(merged, laminar, turbulent, mode)


def _tolerance_reached(row: Row, tolerance: float | None) -> dict[str, Any]:
    error = row.get("pressure_drop_Pa_uncertainty")
    if tolerance is None or error is None:
        return {}
    return {"tolerance_reached": bool(error <= tolerance * abs(row["pressure_drop_Pa"]))}


def _lost(laminar: Row, turbulent: Row) -> str:
    """Which solutions did not converge, or why there is no mesh, in words."""
    reasons = [row["not_meshed"] for row in (laminar, turbulent) if "not_meshed" in row]
    if reasons:
        return f"not meshed: {reasons[0]}"
    pairs = zip(SOLUTIONS, (laminar, turbulent), strict=True)
    names = [word for word, row in pairs if row and not row.get("converged")]
    return f"the {' and the '.join(names)} solution did not converge"


def _span(merged: Row, laminar: Row, turbulent: Row, mode: Mode) -> dict[str, Any]:
    """Ends of each span and their sources, where the turbulent solution was sought."""
    rows = {LAMINAR: laminar, TURBULENT: turbulent}
    solved = {word: row for word, row in rows.items() if row.get("converged")}
    alone = len(solved) == 1
    found: dict[str, Any] = {}
    for drop in DROPS:
        ends = {word: _ends(row, drop) for word, row in solved.items()}
        if alone:
            ends[HANDBOOK] = _ends_of_span(merged["handbook"], drop)
        known = {word: pair for word, pair in ends.items() if pair is not None}
        if not known:
            continue
        low = min(known, key=lambda word: known[word][0])
        high = max(known, key=lambda word: known[word][1])
        found |= {
            f"{drop}_low_Pa": known[low][0],
            f"{drop}_high_Pa": known[high][1],
            f"{drop}_low_from": low,
            f"{drop}_high_from": high,
        }
    note = BOTH_SOLUTIONS
    if alone:
        note = f"{next(iter(solved))} solution and handbooks"
        note += f": {_lost(laminar, turbulent)}" if mode == "both" else ""
    return found | {"span_note": note}


def _ends(row: Row, drop: str) -> tuple[float, float] | None:
    """A solution's figure less and plus its numerical uncertainty."""
    value = row.get(f"{drop}_Pa")
    if value is None:
        return None
    error = row.get(f"{drop}_Pa_uncertainty") or 0.0
    return value - error, value + error


def _ends_of_span(row: Row, drop: str) -> tuple[float, float] | None:
    low, high = row.get(f"{drop}_low_Pa"), row.get(f"{drop}_high_Pa")
    return None if low is None or high is None else (low, high)


def _sources_as_found(row: Row) -> dict[str, Any]:
    """Where the ends of the laminar row's own spans come from."""
    found: dict[str, Any] = {}
    halves = DROPS[1:]
    for end in ("low", "high"):
        for drop in halves:
            if row.get(f"{drop}_{end}_Pa") is not None:
                found[f"{drop}_{end}_from"] = _source(row, drop, end)
        names = [found[f"{drop}_{end}_from"] for drop in halves if f"{drop}_{end}_from" in found]
        # the whole span is the sum of its halves', where the bore has halves
        words = dict.fromkeys(names or [_source(row, DROPS[0], end)])
        found[f"{DROPS[0]}_{end}_from"] = AND.join(words)
    words = dict.fromkeys(found[f"{DROPS[0]}_{end}_from"] for end in ("low", "high"))
    if list(words) == [LAMINAR]:
        return found | {"span_note": "laminar solution and its numerical uncertainty"}
    if list(words) == [HANDBOOK]:
        return found | {"span_note": "handbooks"}
    return found | {"span_note": "laminar solution and handbooks"}


def _source(row: Row, drop: str, end: Literal["low", "high"]) -> str:
    book = row["handbook"].get(f"{drop}_{end}_Pa")
    value = row.get(f"{drop}_{end}_Pa")
    if row.get("regime") == LAMINAR or book is None or value is None:
        return LAMINAR
    computed = _ends(row, drop)
    if math.isclose(value, book, rel_tol=1e-9, abs_tol=1e-12):
        return HANDBOOK
    if computed is None:
        return LAMINAR
    # where it is undecided whether the air follows the entry, the end lies between both: the nearer
    low = end == "low"
    own = computed[0 if low else 1]
    kept = own * (1 - SMOOTH_ENTRY_SHARE if low else 1 + SMOOTH_ENTRY_SHARE)
    return HANDBOOK if abs(value - book) < min(abs(value - own), abs(value - kept)) else LAMINAR
