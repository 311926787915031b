"""The report's tables of the flow, with both solutions side by side where there are both."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from borestudy.report.tables.cells import UNCERTAINTY, Table, build_table, chosen
from borestudy.report.tables.columns import (
    CHANGES_OF_BOTH,
    FLOW_CHANGES,
    FLOW_OF_BOTH,
    FLOW_PARTS,
    FLOW_PRINTED,
    GIVEN,
    SEPARATIONS,
)
from borestudy.report.tables.numbers import NOT_CONVERGED, NOT_MESHED, plain
from borestudy.results.merged_flow import DROPS, LAMINAR, REFUSED, TURBULENT

TOO_SLOW = "too slow"


def is_true(flag: Any) -> bool:
    """Tell whether a cell of a file says yes."""
    return str(flag).lower() in ("true", "1", "1.0")


def is_converged(row: Mapping[str, Any]) -> bool:
    """Tell whether a row's solve converged, as its `converged` or `regime` column says."""
    return is_true(row.get("converged", True)) and "converge" not in str(row.get("regime", ""))


def why_unsolved(row: Mapping[str, Any]) -> str:
    """In few words, why a row of the flow table has no number."""
    note = row.get("span_note")
    if f"{NOT_MESHED}: " in str(note):
        return NOT_MESHED
    return TOO_SLOW if note == REFUSED else NOT_CONVERGED


def has_turbulent(flow: pd.DataFrame) -> bool:
    """Tell whether the turbulent solution was asked for at a rate that it may have, or refused."""
    if "turbulent_converged" not in flow:
        return False
    return bool((flow["turbulent_converged"].notna() | (flow["span_note"] == REFUSED)).any())


def with_laminar(flow: pd.DataFrame) -> pd.DataFrame:
    """The table with the laminar solution's figures in columns of their own."""
    table = flow.copy()
    laminar = table["solution"] == LAMINAR
    for drop in DROPS:
        for suffix in ("", UNCERTAINTY):
            table[f"{LAMINAR}_{drop}_Pa{suffix}"] = table[f"{drop}_Pa{suffix}"].where(laminar)
    return table


def flow_table(flow: pd.DataFrame) -> Table:
    """The table of all cases and flow rates."""
    caption = (
        "Pressure drop at each flow rate. “Low to high” is the span in which the true value is "
        "expected; in laminar flow it is the computed value with its uncertainty."
    )
    if not has_turbulent(flow):
        return _part(flow, FLOW_PRINTED, caption)
    caption += (
        " Where the flow can be laminar or turbulent the two solutions are its ends, each with its "
        "uncertainty; the handbooks are a third opinion."
    )
    return _part(with_laminar(flow), _asked_for(flow, FLOW_OF_BOTH), caption + _refusal(flow))


def flow_parts_table(flow: pd.DataFrame) -> Table | None:
    """Both parts of the pressure drop from both solutions; None without a rate that has both."""
    if not has_turbulent(flow):
        return None
    rows = with_laminar(flow)
    rows = rows[rows["solutions_apart_to_throat_end_percent"].notna()]
    if len(rows) == 0:
        return None
    return _part(
        rows,
        FLOW_PARTS,
        "Where the two solutions part ways: the pressure drop up to the throat’s end, how far they "
        "are apart there, and the pressure that the backbore takes (below zero: gives back).",
    )


def flow_change_table(flow: pd.DataFrame) -> Table | None:
    """The changes against the first case at each flow rate; None without another case."""
    if "pressure_drop_change_percent" not in flow or flow["case"].nunique() < 2:
        return None
    others = flow[flow["case"] != flow["case"].iloc[0]]
    caption = (
        "Change of the pressure drop, and so of the flow resistance, against the first case at the "
        "same flow rate. "
    )
    if has_turbulent(flow):
        caption += (
            "Each solution’s change stands by itself; a verdict is given where both agree, and "
            "nothing is claimed beyond it."
        )
        return _part(others, _asked_for(flow, CHANGES_OF_BOTH), caption + _refusal(flow))
    caption += (
        "Beyond the laminar range “low to high” are the least and the greatest change on what the "
        "ends of the spans rest on, the same for both cases; a verdict is given where all agree."
    )
    return _part(others, FLOW_CHANGES, caption)


def _asked_for(flow: pd.DataFrame, columns: Sequence[str]) -> list[str]:
    """The columns without those of a laminar solution that the study did not ask for."""
    if flow["laminar_converged"].notna().any():
        return list(columns)
    return [name for name in columns if LAMINAR not in name.split("_")]


def _refusal(flow: pd.DataFrame) -> str:
    if not (flow["span_note"] == REFUSED).any():
        return ""
    return (
        f" “{TOO_SLOW.capitalize()}”: below a throat Reynolds number of 2500 the turbulent "
        "solution is refused, since it would not turn laminar again."
    )


def separation_table(separations: pd.DataFrame) -> Table:
    """Where the air leaves the wall, at the greatest rate that any case has."""
    rate = separations["flow_rate_L_per_s"].max()
    return build_table(
        separations[separations["flow_rate_L_per_s"] == rate],
        f"Where the air leaves the wall and comes back to it at {plain(rate)} L/s, from the rim "
        "plane; what it leaves late or not at all gives back more pressure.",
        columns=chosen(list(separations.columns), SEPARATIONS),
        file_name="separations.csv",
    )


def _part(flow: pd.DataFrame, columns: Sequence[str], caption: str) -> Table:
    return build_table(
        flow,
        caption,
        columns=chosen(list(flow.columns), columns),
        unsolved=_unsolved,
        file_name="flow.csv",
    )


def _unsolved(row: Mapping[str, Any], column: str) -> str:
    if column in GIVEN:
        return ""
    if not is_converged(row):
        return why_unsolved(row)
    for word in (LAMINAR, TURBULENT):
        lost = str(row.get(f"{word}_converged")).lower() in ("false", "0", "0.0")
        if lost and word in column.split("_"):
            return why_unsolved(row)
    return ""
