"""The report's tables of the flow: the best estimate, and the extremes where they were solved."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.labels import NOT_CONVERGED, NOT_MESHED, plain
from borestudy.report.sentences.words import place_text
from borestudy.report.tables import columns as printed
from borestudy.report.tables.layout import Cell, Row, Table, build_table, chosen
from borestudy.results.case import CaseResults
from borestudy.results.estimate import ESTIMATE, EXTREMES
from borestudy.rounding import is_missing

#: A column for readers that no file has: where the flow turns turbulent, in words.
TURNS_TURBULENT = "turns_turbulent"
NOWHERE = "nowhere"


def is_true(flag: Any) -> bool:
    """Tell whether a cell of a file says yes."""
    return str(flag).lower() in ("true", "1", "1.0")


def is_converged(row: Row) -> bool:
    """Tell whether a row's solve converged, as its `converged` or `regime` column says."""
    return is_true(row.get("converged", True)) and "converge" not in str(row.get("regime", ""))


def why_unsolved(row: Row) -> str:
    """Say in few words why a row of the flow table has no number."""
    return NOT_MESHED if f"{NOT_MESHED}: " in str(row.get("note")) else NOT_CONVERGED


def unsolved_words(flow: pd.DataFrame) -> str:
    """Say of how many rows the flow was not solved; empty where it was of all."""
    lost = [row for row in flow.to_dict("records") if not is_converged(row)]
    return text("tables", "unsolved", lost=len(lost), count=len(flow)) if lost else ""


def with_transitions(flow: pd.DataFrame, cases: Sequence[CaseResults]) -> pd.DataFrame:
    """The flow table with a column of words for where the flow turns turbulent."""
    by_name = {case.name: case for case in cases}
    told = [
        _turns_turbulent(by_name[str(row["case"])], row) if is_converged(row) else ""
        for row in flow.to_dict("records")
    ]
    return flow.assign(**{TURNS_TURBULENT: told})


def _turns_turbulent(case: CaseResults, row: Row) -> str:
    position = row.get("transition_position_mm")
    if position is None or is_missing(position):
        return NOWHERE
    return f"{float(position):.1f} mm, {place_text(case, float(position))}"


def printed_flow(flow: pd.DataFrame) -> Table:
    """The table of all cases and flow rates."""
    table = _part(flow, printed.FLOW_PRINTED, text("tables", "flow"))
    if TURNS_TURBULENT in flow:
        # many words, for which paper has no room
        rows = [_without_last(row) for row in table.rows]
        table = replace(table, rows=rows, columns=_without_last(table.columns))
    return replace(table, note=" ".join(filter(None, [table.note, *_outside(flow)])))


def _without_last(cells: Sequence[Cell]) -> list[Cell]:
    """The cells of a row, the last of them for the screen alone."""
    *others, last = cells
    return [*others, replace(last, look=f"{last.look} screen-only".strip())]


def _outside(flow: pd.DataFrame) -> list[str]:
    """Where bores or rates lie outside the measurements, each with how many rows of the table."""
    said = Counter(
        words
        for row in flow.get("model_words", [])
        if not is_missing(row)
        for words in str(row).split("; ")
    )
    if not said:
        return []
    parts = [
        f"{words} ({'all rows' if count == len(flow) else f'{count} of {len(flow)} rows'})"
        for words, count in said.items()
    ]
    return [text("tables", "outside", words="; ".join(parts))]


def printed_flow_parts(flow: pd.DataFrame) -> Table | None:
    """Both parts of the pressure drop; None where no rate has them."""
    name = "backbore_pressure_drop_Pa"
    if name not in flow or flow[name].isna().all():
        return None
    return _part(flow, printed.FLOW_PARTS, text("tables", "flow_parts"))


def printed_flow_changes(flow: pd.DataFrame) -> Table | None:
    """The changes against the first case at each flow rate; None without another case."""
    if "pressure_drop_change_percent" not in flow or flow["case"].nunique() < 2:
        return None
    others = flow[flow["case"] != flow["case"].iloc[0]]
    return _part(others, printed.FLOW_CHANGES, text("tables", "flow_changes"))


def has_extreme(flow: pd.DataFrame, word: str) -> bool:
    """Tell whether a study asked for one of `EXTREMES`, at a rate that it may have."""
    name = f"{word}_converged"
    return name in flow and bool(flow[name].notna().any())


def printed_extremes(flow: pd.DataFrame) -> Table | None:
    """The best estimate beside the extremes; None where the study did not ask for any."""
    asked = [word for word in EXTREMES if has_extreme(flow, word)]
    if not asked:
        return None
    left_out = tuple(f"{word}_" for word in EXTREMES if word not in asked)
    names = [name for name in printed.EXTREMES if not left_out or not name.startswith(left_out)]
    return _part(flow, names, text("tables", "extremes"))


def printed_separations(separations: pd.DataFrame) -> Table | None:
    """Where the air leaves the wall, at the greatest rate that any case has."""
    separations = _of_estimate(separations)
    rate = separations["flow_rate_L_per_s"].max()
    rows = separations[separations["flow_rate_L_per_s"] == rate]
    return (
        None if rows.empty else _whole(rows, "separations", printed.SEPARATIONS, rate=plain(rate))
    )


def printed_energy(energy: pd.DataFrame, rate: float) -> Table | None:
    """The table of where the pressure goes at one flow rate [L/s]; None without a row for it."""
    energy = _of_estimate(energy)
    rows = energy[energy["flow_rate_L_per_s"] == rate]
    return None if rows.empty else _whole(rows, "energy", printed.ENERGY, rate=plain(rate))


def printed_stream(stream: pd.DataFrame) -> Table:
    """The table of resonances on the steady stream."""
    return _whole(stream, "stream", printed.STREAM)


def _of_estimate(table: pd.DataFrame) -> pd.DataFrame:
    """The rows of the best estimate, of a table that has the extremes' too."""
    return table[table["solution"] == ESTIMATE] if "solution" in table else table


def _whole(table: pd.DataFrame, name: str, columns: Sequence[str], **words: str) -> Table:
    """Some columns of a table that is named as its file and its caption are."""
    caption, wanted = text("tables", name, **words), chosen(table, columns)
    return build_table(table, caption, columns=wanted, file_name=f"{name}.csv")


def _part(flow: pd.DataFrame, columns: Sequence[str], caption: str) -> Table:
    """Some columns of the flow table."""
    return build_table(
        flow, caption, columns=chosen(flow, columns), unsolved=_unsolved, file_name="flow.csv"
    )


def _unsolved(row: Row, column: str) -> str:
    """Why a cell has no number: of an extreme by its own solve, else by the estimate's."""
    if column in printed.GIVEN:
        return ""
    word = column.split("_")[0]
    if word in EXTREMES:
        sought = row.get(f"{word}_converged")
        if is_missing(sought) and sought is not False:
            return "not solved"
        return "" if is_true(sought) else NOT_CONVERGED
    return "" if is_converged(row) else why_unsolved(row)
