"""The comparison of the cases, in tables narrow enough to read."""

from dataclasses import replace

import pandas as pd

from borestudy.report.captions import text
from borestudy.report.labels import NOT_CONVERGED, plain
from borestudy.report.sources import BORES, FLOW_AT_RATE, SOUND
from borestudy.report.tables import columns as printed
from borestudy.report.tables.flow import is_converged, why_unsolved
from borestudy.report.tables.layout import Row, Table, build_table, chosen, without_errors
from borestudy.report.topic import FLOW, RESONANCE, Topic
from borestudy.results.estimate import DROPS

#: What the first two of the pressure drops are over the flow rate.
RESISTANCES = ("flow_resistance", "flow_resistance_to_throat_end")


def printed_comparisons(
    comparison: pd.DataFrame, flow: pd.DataFrame, topic: Topic = FLOW
) -> list[Table]:
    """The comparison in several tables, the topic's first; the file has the rest."""
    if comparison.empty:
        return []
    comparison = _with_model_errors(comparison, flow)
    failed = {
        (row["case"], row["flow_rate_L_per_s"]): why_unsolved(row)
        for row in flow.to_dict("records")
        if not is_converged(row)
    }

    def unsolved(row: Row, column: str) -> str:
        if not column.startswith(printed.SOLVED):
            return ""
        words = failed.get((row["case"], row.get("flow_rate_L_per_s")), "")
        return words or ("" if is_converged(row) else NOT_CONVERGED)

    at_rate = ""
    # `unsolved` looks the rate up in the row, so it leaves the print but not the table.
    if "flow_rate_L_per_s" in comparison and comparison["flow_rate_L_per_s"].nunique() == 1:
        at_rate = f" at {plain(comparison['flow_rate_L_per_s'].iloc[0])} L/s"
    flows = {
        text("comparison", "flowing", at_rate=at_rate): printed.FLOWING,
        text("comparison", "throat", at_rate=at_rate): printed.THROAT,
    }
    sounds = {
        text("comparison", "peaks", register=word): names for word, names in printed.PEAKS.items()
    } | {
        text("comparison", "sounding"): printed.SOUNDING,
        text("comparison", "strength"): printed.STRENGTH,
    }
    families = sounds | flows if topic == RESONANCE else flows | sounds
    of = dict.fromkeys(flows, FLOW_AT_RATE) | dict.fromkeys(sounds, SOUND)
    parts = {caption: chosen(comparison, names) for caption, names in families.items()}
    said = {"case", *(name for names in parts.values() for name in names)}
    elsewhere = ("flow_", "resonance", *printed.ELSEWHERE)
    bores = text("comparison", "bores")
    of[bores] = BORES
    parts[bores] = [
        name
        for name in comparison.columns
        # a dimension in words may be all that a bore is called by
        if not (name in said or name.startswith(elsewhere) or _is_name(comparison, name))
    ]
    table = _first_case_said(comparison)
    return [
        replace(
            build_table(
                table,
                caption,
                columns=["case", *names],
                unsolved=unsolved,
                file_name="comparison.csv",
            ),
            source=of[caption],
        )
        for caption, names in parts.items()
        if names
    ]


def _is_name(comparison: pd.DataFrame, column: str) -> bool:
    """Whether a column says in each row what the bore is called, and nothing more."""
    return list(comparison[column]) == list(comparison["case"])


def _with_model_errors(comparison: pd.DataFrame, flow: pd.DataFrame) -> pd.DataFrame:
    """The table with the model errors that stand in the flow's table, where it has them."""
    names = {
        f"{drop}_model_error_{side}_Pa": f"{resistance}_model_error_{side}_kPa_s_per_L"
        for drop, resistance in zip(DROPS[:2], RESISTANCES, strict=True)
        for side in ("low", "high")
    }
    keys = ["case", "flow_rate_L_per_s"]
    if not {*keys, *names} <= {*flow.columns} or not {*keys} <= {*comparison.columns}:
        return comparison
    known = comparison.drop(columns=[name for name in names if name in comparison])
    table = known.merge(flow[[*keys, *names]], how="left", on=keys)
    scale = 1e-3 / table["flow_rate_L_per_s"]
    table = table.assign(**{own: scale * table[name] for name, own in names.items()})
    # none without the figure that it is of
    errors = [*names, *names.values()]
    return table.drop(columns=[name for name in errors if without_errors(name) not in comparison])


def _first_case_said(comparison: pd.DataFrame) -> pd.DataFrame:
    """The table with the first case's verdicts, which compare it with itself, in other words."""
    table = comparison.copy()
    verdicts = [name for name in table.columns if name.endswith("_verdict")]
    table.loc[table["case"] == table["case"].iloc[0], verdicts] = "the first bore"
    return table
