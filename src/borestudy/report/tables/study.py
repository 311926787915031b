"""The report's tables: which columns of which result table, and in what words."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from borestudy.report.tables.cells import Table, build_table, chosen, records
from borestudy.report.tables.columns import (
    ELSEWHERE,
    ENERGY,
    FLOWING,
    PEAKS,
    SOLVED,
    SOUNDING,
    STREAM,
    STRENGTH,
    THROAT,
)
from borestudy.report.tables.flow import is_converged, why_unsolved
from borestudy.report.tables.numbers import NO_VALUE, NOT_CONVERGED, is_missing, plain, significant
from borestudy.report.topic import FLOW, RESONANCE, Topic
from borestudy.results.tables.files import MESH_FOR

LAMINAR = "laminar"
PASSED = ("pass", "passed", "ok")


def comparison_tables(
    comparison: pd.DataFrame, flow: pd.DataFrame, topic: Topic = FLOW
) -> list[Table]:
    """The comparison in tables narrow enough to read, the topic's first; the file has the rest."""
    failed = {
        (row["case"], row["flow_rate_L_per_s"]): why_unsolved(row)
        for row in records(flow)
        if not is_converged(row)
    }

    def unsolved(row: Mapping[str, Any], column: str) -> str:
        if not column.startswith(SOLVED):
            return ""
        words = failed.get((row["case"], row.get("flow_rate_L_per_s")), "")
        return words or ("" if is_converged(row) else NOT_CONVERGED)

    columns = list(comparison.columns)
    at_rate = ""
    # `unsolved` looks the rate up in the row, so it leaves the print but not the table.
    if "flow_rate_L_per_s" in columns and comparison["flow_rate_L_per_s"].nunique() == 1:
        at_rate = f" at {plain(comparison['flow_rate_L_per_s'].iloc[0])} L/s"
    flowing: tuple[str, ...] = FLOWING
    if "regime" in columns and (comparison["regime"] == LAMINAR).all():
        # the span is then the computed change itself, which stands there with its uncertainty
        flowing = tuple(name for name in FLOWING if "_low_" not in name and "_high_" not in name)
    flows = [
        (flowing, f"Flow{at_rate}. Each change is that of the resistance against the first case."),
        (
            THROAT,
            "The slope with which the whole pressure drop grows with the flow rate, and the part "
            f"of the flow resistance up to the throat’s end{at_rate}, with its change against "
            "the first case.",
        ),
    ]
    sounds = [
        (SOUNDING, "Resonance. Each change is that of its frequency against the first case."),
        (STRENGTH, "Width and strength of the first resonance against the first case."),
    ]
    peaks = [
        (names, f"Pitch of the {word} register’s peaks against the first case’s same peaks.")
        for word, names in PEAKS.items()
    ]
    if any(chosen(columns, names) for names, _ in peaks):  # what is played comes first
        sounds = [*peaks, *sounds]
    families = [*sounds, *flows] if topic == RESONANCE else [*flows, *sounds]
    said = [name for name in columns if name.startswith(("flow_", "resonance", *ELSEWHERE))]
    said += [name for names, _ in families for name in chosen(columns, names)]
    bores = [name for name in columns if name not in (*said, "case")]
    table = _first_case_said(comparison)
    return [
        build_table(
            table,
            caption,
            columns=["case", *names],
            unsolved=unsolved,
            file_name="comparison.csv",
        )
        for names, caption in (
            *((chosen(columns, names), caption) for names, caption in families),
            (bores, "The bores."),
        )
        if names
    ]


def _first_case_said(comparison: pd.DataFrame) -> pd.DataFrame:
    """The table with the first case's verdicts, which compare it with itself, in other words."""
    verdicts = [name for name in comparison.columns if name.endswith("_verdict")]
    if not verdicts or len(comparison) == 0:
        return comparison
    table = comparison.copy()
    table.loc[table["case"] == table["case"].iloc[0], verdicts] = "the first case"
    return table


def energy_table(energy: pd.DataFrame, rate: float) -> Table | None:
    """The table of where the pressure goes at one flow rate [L/s]; None without a row for it."""
    rows = energy[(energy["flow_rate_L_per_s"] - rate).abs() <= 1e-6 * rate]
    if len(rows) == 0:
        return None
    return build_table(
        rows,
        f"Where the pressure goes at {plain(rate)} L/s, as computed: what the air loses of its "
        "mechanical energy is rubbed away in the parts; the rest of the pressure drop is the rise "
        "of its kinetic energy.",
        columns=chosen(list(energy.columns), ENERGY),
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
        columns=chosen(list(stream.columns), STREAM),
        file_name="stream.csv",
    )


def has_passed(row: Mapping[str, Any]) -> bool:
    """Tell whether a verification row passed; one without a clear verdict has not."""
    return str(row.get("verdict", "")).strip().lower() in PASSED


def verification_table(verification: pd.DataFrame) -> Table:
    """The table of checks, failed ones marked."""
    table = verification.copy()
    if "deviation_percent" in table:
        table["deviation_percent"] = [
            NO_VALUE if is_missing(value) else significant(float(value), 2)
            for value in table["deviation_percent"]
        ]
    if "unit" in table:
        table["unit"] = ["–" if is_missing(unit) else unit for unit in table["unit"]]
    return build_table(
        table,
        "What the program computed for cases whose answer is known, solved with this study's own "
        "mesh settings.",
        digits=7,
        look=lambda row: "" if has_passed(row) else "bad",
        file_name="verification.csv",
    )


def failed_checks(verification: pd.DataFrame) -> list[str]:
    """What failed of the checks, in words; empty if every one passed."""
    return [words for words, unmeshed in _not_passed(verification) if not unmeshed]


def unmeshed_cases(verification: pd.DataFrame) -> list[str]:
    """Which cases have no mesh, and for what; empty if all have theirs."""
    return [words for words, unmeshed in _not_passed(verification) if unmeshed]


def _not_passed(verification: pd.DataFrame) -> list[tuple[str, bool]]:
    """Each row without a pass in words, and whether it is of a case without a mesh."""
    return [
        (
            f"{row.get('check', 'unnamed check')}: {row.get('quantity', '')}".rstrip(": "),
            str(row.get("quantity", "")).startswith(MESH_FOR),
        )
        for row in records(verification)
        if not has_passed(row)
    ]
