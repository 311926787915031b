"""The table of the flow: one row a case and rate, which says what each figure is from."""

import math
from collections.abc import Sequence
from typing import Any

import pandas as pd

from borestudy.report.sentences.parts import difference_percent
from borestudy.results.case import CaseResults
from borestudy.results.changes import Change
from borestudy.results.merged_flow import DROPS, LAST_RATE, TURBULENT, Row, solution_row
from borestudy.results.span_changes import TO_THROAT_END, SpanChange, handbook_changes, span_change
from borestudy.results.tables.files import frame_of, pair

NOT_COMPUTED = "not computed"
#: What describes a solve itself.
ERRORS = ("mass_balance", "section_mass_flux", "energy_balance", "residual")


def flow_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate, converged or not."""
    rates = sorted({rate for case in cases for rate in case.rates})
    return frame_of([_row(case, cases[0], rate) for case in cases for rate in rates])


def _row(case: CaseResults, first: CaseResults, rate: float) -> dict[str, Any]:
    all_of_it = case.rate(rate)
    # without numbers that an unconverged solve may have left
    row = solution_row(all_of_it)
    columns: dict[str, Any] = {
        "case": case.name,
        "flow_rate_L_per_s": rate,
        "throat_reynolds": all_of_it.get("throat_reynolds"),
        **pair("pressure_drop_Pa", row, "pressure_drop_Pa"),
        "loss_coefficient": row.get("loss_coefficient"),
        "regime": all_of_it.get("regime", NOT_COMPUTED),
        "pressure_drop_low_Pa": row.get("pressure_drop_low_Pa"),
        "pressure_drop_high_Pa": row.get("pressure_drop_high_Pa"),
        "converged": case.converged(rate),
        "solution": row.get("solution") or "",
        "pressure_drop_low_from": row.get("pressure_drop_low_from", math.nan),
        "pressure_drop_high_from": row.get("pressure_drop_high_from", math.nan),
        "span_note": all_of_it.get("span_note", NOT_COMPUTED),
        "tolerance_reached": row.get("tolerance_reached"),
        "pressure_drop_estimated_error_Pa": row.get("pressure_drop_estimated_error_Pa"),
        "mesh_step_foretold": row.get("mesh_step_foretold"),
        "loss_coefficient_uncertainty": row.get("loss_coefficient_uncertainty"),
        **pair("flow_resistance_kPa_s_per_L", row, "pressure_drop_Pa", 1e-3 / rate),
    }
    columns |= _turbulent(all_of_it)
    columns |= span_columns("pressure_drop", span_change(case, first, rate))
    columns |= _halves(row)
    columns |= span_columns(TO_THROAT_END, span_change(case, first, rate, TO_THROAT_END))
    for key in ("discharge_coefficient", "differential_resistance_kPa_s_per_L"):
        columns |= pair(key, row, key)
    columns |= _handbook(row, first.rate(rate))
    # these describe the solve itself, or follow from the study alone: nothing to be uncertain of
    for key in ("throat_velocity_m_per_s", "dynamic_pressure_Pa", "mach_number"):
        columns[key] = all_of_it.get(key)
    columns |= {key: row.get(key) for key in ERRORS}
    columns[LAST_RATE] = all_of_it.get(LAST_RATE)
    return columns


def _turbulent(row: Row) -> dict[str, Any]:
    """The turbulent solution's own figures, and how well its meshes resolve the wall."""
    figures = solution_row(row, TURBULENT)
    columns: dict[str, Any] = {
        "laminar_converged": row.get("laminar_converged"),
        "turbulent_converged": row.get("turbulent_converged"),
    }
    for drop in DROPS:
        columns |= pair(f"turbulent_{drop}_Pa", figures, f"{drop}_Pa")
    return columns | {
        "turbulent_residual": (row.get(TURBULENT) or {}).get("residual"),
        "turbulent_section_mass_flux": figures.get("section_mass_flux"),
        "y_plus": figures.get("y_plus"),
        "wall_resolution": figures.get("wall_resolution") or "",
    }


def _halves(row: Row) -> dict[str, Any]:
    """Both halves of the pressure drop with their spans, and how far the solutions are apart."""
    columns: dict[str, Any] = {}
    for drop in DROPS[1:]:
        columns |= pair(f"{drop}_Pa", row, f"{drop}_Pa")
        columns |= {f"{drop}_{end}_Pa": row.get(f"{drop}_{end}_Pa") for end in ("low", "high")}
        columns |= {
            f"{drop}_{end}_from": row.get(f"{drop}_{end}_from", math.nan) for end in ("low", "high")
        }
    apart = difference_percent(row) or (None, None)
    stem = "solutions_apart_to_throat_end_percent"
    return columns | {stem: apart[0], f"{stem}_uncertainty": apart[1]}


def _handbook(row: Row, first: Row) -> dict[str, Any]:
    """The handbooks' span, and its change against the first case, each compared with itself."""
    changes = [change.value for change in handbook_changes(row, first) if change.value is not None]
    ends = {"low": min(changes, default=None), "high": max(changes, default=None)}
    return {
        f"handbook_pressure_drop_{end}_Pa": row.get("handbook", {}).get(f"pressure_drop_{end}_Pa")
        for end in ends
    } | {f"handbook_pressure_drop_change_{end}_percent": value for end, value in ends.items()}


def change_columns(stem: str, unit: str, change: Change) -> dict[str, Any]:
    """A change, its uncertainty and its word."""
    return {
        f"{stem}_change_{unit}": change.value,
        f"{stem}_change_{unit}_uncertainty": change.uncertainty,
        f"{stem}_change_verdict": change.verdict,
    }


def span_columns(stem: str, change: SpanChange) -> dict[str, Any]:
    """The computed change, the word that holds, both ends' changes and each solution's."""
    columns = change_columns(stem, "percent", change.computed)
    columns[f"{stem}_change_verdict"] = change.verdict
    columns[f"{stem}_change_low_percent"] = change.low.value
    columns[f"{stem}_change_high_percent"] = change.high.value
    for word, each in change.solutions.items():
        columns[f"{stem}_change_{word}_percent"] = each.value
        columns[f"{stem}_change_{word}_percent_uncertainty"] = each.uncertainty
        columns[f"{stem}_change_{word}_verdict"] = each.verdict
    return columns
