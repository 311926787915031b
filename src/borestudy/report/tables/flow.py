"""The report's tables of the flow, with both solutions side by side where there are both."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from borestudy.flow.regime import LOWEST_TURBULENT
from borestudy.report.captions import text
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
    """Say in few words why a row of the flow table has no number."""
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


def printed_flow(flow: pd.DataFrame) -> Table:
    """The table of all cases and flow rates."""
    caption = text("tables", "flow")
    if not has_turbulent(flow):
        return _part(flow, printed.FLOW_PRINTED, caption)
    caption += text("tables", "flow_of_both") + _refusal(flow)
    return _part(with_laminar(flow), printed.FLOW_OF_BOTH, caption)


def printed_flow_parts(flow: pd.DataFrame) -> Table | None:
    """Both parts of the pressure drop from both solutions; None without a rate that has both."""
    if not has_turbulent(flow):
        return None
    rows = with_laminar(flow).dropna(subset=["solutions_apart_to_throat_end_percent"])
    return None if rows.empty else _part(rows, printed.FLOW_PARTS, text("tables", "flow_parts"))


def printed_flow_changes(flow: pd.DataFrame) -> Table | None:
    """The changes against the first case at each flow rate; None without another case."""
    if "pressure_drop_change_percent" not in flow or flow["case"].nunique() < 2:
        return None
    others = flow[flow["case"] != flow["case"].iloc[0]]
    caption = text("tables", "flow_changes")
    if has_turbulent(flow):
        caption += text("tables", "changes_of_both") + _refusal(flow)
        return _part(others, printed.CHANGES_OF_BOTH, caption)
    return _part(others, printed.FLOW_CHANGES, caption + text("tables", "changes_of_spans"))


def printed_separations(separations: pd.DataFrame) -> Table:
    """Where the air leaves the wall, at the greatest rate that any case has."""
    rate = separations["flow_rate_L_per_s"].max()
    rows = separations[separations["flow_rate_L_per_s"] == rate]
    return _whole(rows, "separations", printed.SEPARATIONS, rate=plain(rate))


def printed_energy(energy: pd.DataFrame, rate: float) -> Table | None:
    """The table of where the pressure goes at one flow rate [L/s]; None without a row for it."""
    rows = energy[energy["flow_rate_L_per_s"] == rate]
    return None if rows.empty else _whole(rows, "energy", printed.ENERGY, rate=plain(rate))


def printed_stream(stream: pd.DataFrame) -> Table:
    """The table of resonances on the steady stream."""
    return _whole(stream, "stream", printed.STREAM)


def _whole(table: pd.DataFrame, name: str, columns: Sequence[str], **words: str) -> Table:
    """Some columns of a table that is named as its file and its caption are."""
    caption, wanted = text("tables", name, **words), chosen(table, columns)
    return build_table(table, caption, columns=wanted, file_name=f"{name}.csv")


def _part(flow: pd.DataFrame, columns: Sequence[str], caption: str) -> Table:
    """Some columns of the flow table, without those of a solution that was not asked for."""
    asked = "laminar_converged" not in flow or flow["laminar_converged"].notna().any()
    wanted = [name for name in columns if asked or LAMINAR not in name.split("_")]
    return build_table(
        flow, caption, columns=chosen(flow, wanted), unsolved=_unsolved, file_name="flow.csv"
    )


def _refusal(flow: pd.DataFrame) -> str:
    refused = (flow["span_note"] == REFUSED).any()
    return text("tables", "refused", lowest=LOWEST_TURBULENT) if refused else ""


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
