"""What a study took, as it is told and printed."""

import pandas as pd

from borestudy.rounding import significant

#: Names of rows that stand for several jobs: what the cases' jobs took beside their steps, to start
#: and to import; all cases; all of the study.
STARTING, CASES, STUDY = "start of the cases' jobs", "all cases", "study"
#: Kinds of files, and their columns of bytes.
KINDS = ("tables", "fields", "meshes", "sounds")
BYTES = tuple(f"{kind}_bytes" for kind in KINDS)


def printed_costs(costs: pd.DataFrame) -> pd.DataFrame:
    """The columns that fit a page, bytes in megabytes (10⁶)."""
    shown = costs[["stage", "jobs", "wall_time_s", "longest_s", "peak_memory_MB"]].copy()
    for kind, column in zip(KINDS, BYTES, strict=True):
        if kind == "sounds" and not costs[column].any():
            continue  # of a study without lips
        shown[f"{kind}_MB"] = (costs[column] / 1e6).round(2)
    return shown.assign(wall_time_s=costs["wall_time_s"].round(1))


def cost_sentences(costs: pd.DataFrame) -> list[str]:
    """What a case takes and keeps, and what starting takes of it."""
    rows = {row["stage"]: row for row in costs.to_dict("records")}
    if CASES not in rows or not rows[CASES]["jobs"]:
        return []
    cases = rows[CASES]
    count = cases["jobs"]
    each = significant(cases["wall_time_s"] / count, 2)
    said = [
        f"A case takes {each} s of a core in the mean: "
        f"{significant(cases['cases_per_core_hour'], 2)} cases in a core-hour."
    ]
    if STARTING in rows:
        share = rows[STARTING]["wall_time_s"] / cases["wall_time_s"]
        said.append(f"Of this, {significant(100 * share, 2)} % go into starting its job.")
    kept = [
        f"{significant(cases[column] / count / 1e6, 2)} MB of {kind}"
        for kind, column in zip(KINDS, BYTES, strict=True)
        if cases[column]
    ]
    if kept:
        said.append(f"It keeps {', '.join(kept)} (the study’s key “keep” says which).")
    return said
