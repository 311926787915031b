"""The report's tables of the flow, with both solutions side by side where there are both."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from borestudy.report.labels import NOT_CONVERGED, NOT_MESHED, plain
from borestudy.report.tables import columns as printed
from borestudy.report.tables.layout import UNCERTAINTY, Row, Table, build_table, chosen
from borestudy.results.merged_flow import REFUSED, SOLUTIONS
from borestudy.results.spans import DROPS, LAMINAR

TOO_SLOW = "too slow"


def is_true(flag: Any) -> bool:
    """Tell whether a cell of a file says yes."""
    return str(flag).lower() in ("true", "1", "1.0")


def is_converged(row: Row) -> bool:
    """Tell whether a row's solve converged, as its `converged` or `regime` column says."""
    return is_true(row.get("converged", True)) and "converge" not in str(row.get("regime", ""))


def why_unsolved(row: Row) -> str:
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
    shared = [f"{drop}_Pa{suffix}" for drop in DROPS for suffix in ("", UNCERTAINTY)]
    own = flow[shared].where(flow["solution"] == LAMINAR).add_prefix(f"{LAMINAR}_")
    return flow.assign(**{str(name): own[name] for name in own})


def flow_table(flow: pd.DataFrame) -> Table:
    """The table of all cases and flow rates."""
    caption = (
        "Pressure drop at each flow rate. “Low to high” is the span in which the true value is "
        "expected; in laminar flow it is the computed value with its uncertainty."
    )
    if not has_turbulent(flow):
        return _part(flow, printed.FLOW_PRINTED, caption)
    caption += (
        " Where the flow can be laminar or turbulent the two solutions are its ends, each with its "
        "uncertainty; the handbooks are a third opinion."
    )
    return _part(with_laminar(flow), printed.FLOW_OF_BOTH, caption + _refusal(flow))


def flow_parts_table(flow: pd.DataFrame) -> Table | None:
    """Both parts of the pressure drop from both solutions; None without a rate that has both."""
    if not has_turbulent(flow):
        return None
    rows = with_laminar(flow).dropna(subset=["solutions_apart_to_throat_end_percent"])
    if rows.empty:
        return None
    return _part(
        rows,
        printed.FLOW_PARTS,
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
        return _part(others, printed.CHANGES_OF_BOTH, caption + _refusal(flow))
    caption += (
        "Beyond the laminar range “low to high” are the least and the greatest change on what the "
        "ends of the spans rest on, the same for both cases; a verdict is given where all agree."
    )
    return _part(others, printed.FLOW_CHANGES, caption)


def separation_table(separations: pd.DataFrame) -> Table:
    """Where the air leaves the wall, at the greatest rate that any case has."""
    rate = separations["flow_rate_L_per_s"].max()
    return build_table(
        separations[separations["flow_rate_L_per_s"] == rate],
        f"Separation and reattachment at {plain(rate)} L/s: where the air leaves the wall and "
        "where it comes back to it, from the rim plane; what leaves late or not at all gives back "
        "more pressure.",
        columns=chosen(separations, printed.SEPARATIONS),
        file_name="separations.csv",
    )


def energy_table(energy: pd.DataFrame, rate: float) -> Table | None:
    """The table of where the pressure goes at one flow rate [L/s]; None without a row for it."""
    rows = energy[energy["flow_rate_L_per_s"] == rate]
    if rows.empty:
        return None
    return build_table(
        rows,
        f"Where the pressure goes at {plain(rate)} L/s, as computed: viscous dissipation (friction "
        "within the air) takes in each part what the air loses of its mechanical energy; the rest "
        "of the pressure drop is the rise of its kinetic energy.",
        columns=chosen(energy, printed.ENERGY),
        file_name="energy.csv",
    )


def stream_table(stream: pd.DataFrame) -> Table:
    """The table of resonances on the steady stream."""
    return build_table(
        stream,
        "How the Q of the first resonance changes from still air to a steady stream, whose "
        "pressure drop grows with the flow rate and so damps a small oscillation. “Low to high” "
        "are the ends of the span beyond the laminar range. “Not quasi-steady”: the oscillation "
        "is too fast for the stream to follow, and the figures are rough.",
        columns=chosen(stream, printed.STREAM),
        file_name="stream.csv",
    )


def _part(flow: pd.DataFrame, columns: Sequence[str], caption: str) -> Table:
    """Some columns of the flow table, without those of a solution that was not asked for."""
    asked = "laminar_converged" not in flow or flow["laminar_converged"].notna().any()
    wanted = [name for name in columns if asked or LAMINAR not in name.split("_")]
    return build_table(
        flow, caption, columns=chosen(flow, wanted), unsolved=_unsolved, file_name="flow.csv"
    )


def _refusal(flow: pd.DataFrame) -> str:
    if not (flow["span_note"] == REFUSED).any():
        return ""
    return (
        f" “{TOO_SLOW.capitalize()}”: below a throat Reynolds number of 2500 the turbulent "
        "solution is refused, since it would not become laminar again."
    )


def _unsolved(row: Row, column: str) -> str:
    if column in printed.GIVEN:
        return ""
    lost = {
        word
        for word in SOLUTIONS
        if str(row.get(f"{word}_converged")).lower() in ("false", "0", "0.0")
    }
    if not is_converged(row) or lost & set(column.split("_")):
        return why_unsolved(row)
    return ""
