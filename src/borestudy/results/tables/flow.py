"""The table of the flow: one row a case and rate, which says what each figure is from."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from borestudy.records import columns
from borestudy.results.case import CaseResults, flow_rates
from borestudy.results.changes import Change
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.span_changes import (
    SpanChange,
    handbook_changes,
    solutions_apart,
    span_change,
)
from borestudy.results.spans import DROPS, HALVES, TO_THROAT_END, TURBULENT, WHOLE
from borestudy.results.tables.files import frame_of, pair

NOT_COMPUTED = "not computed"
#: What describes a solve itself, or follows from the study alone: nothing to be uncertain of.
GIVEN = ("throat_velocity_m_per_s", "dynamic_pressure_Pa", "mach_number")
ERRORS = ("mass_balance", "section_mass_flux", "energy_balance", "residual")


def flow_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate, converged or not."""
    rates = list(enumerate(flow_rates(cases)))
    return frame_of([flow_row(case, cases[0], *rate) for case in cases for rate in rates])


def flow_row(case: CaseResults, first: CaseResults, index: int, rate: float) -> dict[str, Any]:
    """The row of a case at the study's flow rate of an index, which is so many L/s."""
    row, base = case.rate(index), first.rate(index)
    named = {"case": case.name, "flow_rate_L_per_s": rate}
    whole = span_columns(WHOLE, span_change(case, first, index))
    to_throat_end = span_columns(TO_THROAT_END, span_change(case, first, index, TO_THROAT_END))
    if row is None:
        state = {"regime": NOT_COMPUTED, "converged": False, "span_note": NOT_COMPUTED}
        return named | state | whole | to_throat_end
    # without numbers that an unconverged solve may have left
    found = {} if row.figures is None else columns(row.figures)
    drop = row.quantity(WHOLE)
    return {
        **named,
        "throat_reynolds": row.throat_reynolds,
        **pair("pressure_drop_Pa", drop),
        "loss_coefficient": found.get("loss_coefficient"),
        "regime": row.regime,
        **end_columns(row, WHOLE),
        "converged": row.converged,
        "solution": row.solution or "",
        **_sources(row, WHOLE),
        "span_note": row.note,
        "tolerance_reached": found.get("tolerance_reached"),
        "pressure_drop_estimated_error_Pa": found.get("pressure_drop_estimated_error_Pa"),
        "error_estimator_consistent": found.get("error_estimator_consistent"),
        "loss_coefficient_uncertainty": found.get("loss_coefficient_uncertainty"),
        **pair("flow_resistance_kPa_s_per_L", drop, 1e-3 / rate),
        **_turbulent(row),
        **whole,
        **_halves(row),
        **to_throat_end,
        **pair("discharge_coefficient", row.quantity("discharge_coefficient")),
        **pair("differential_resistance_kPa_s_per_L", row.quantity("differential_resistance")),
        **_handbook(row if row.converged else None, base),
        **{key: getattr(row, key) for key in GIVEN},
        **{key: found.get(key) for key in ERRORS},
        "last_converged_flow_rate_L_per_s": row.last_converged_flow_rate_L_per_s,
    }


def end_columns(row: MergedRate | None, drop: str) -> dict[str, float | None]:
    """Low and high of a pressure drop, empty where they are not known."""
    span = None if row is None else row.spans.get(drop)
    return {
        f"{drop}_low_Pa": None if span is None else span.low,
        f"{drop}_high_Pa": None if span is None else span.high,
    }


def _sources(row: MergedRate, drop: str) -> dict[str, str | None]:
    span = row.spans.get(drop)
    return {
        f"{drop}_low_from": None if span is None else span.low_from,
        f"{drop}_high_from": None if span is None else span.high_from,
    }


def _turbulent(row: MergedRate) -> dict[str, Any]:
    """The turbulent solution's own figures, and how well its meshes resolve the wall."""
    figures, sought = row.of(TURBULENT), row.turbulent
    converged = {word: row.sought(word) for word in SOLUTIONS}
    found: dict[str, Any] = {
        f"{word}_converged": None if each is None else each.converged
        for word, each in converged.items()
    }
    for drop in DROPS:
        found |= pair(f"turbulent_{drop}_Pa", row.quantity(drop, TURBULENT))
    return found | {
        "turbulent_residual": None if sought is None else sought.residual,
        "turbulent_section_mass_flux": None if figures is None else figures.section_mass_flux,
        "y_plus": None if figures is None else figures.y_plus,
        "wall_resolution": "" if figures is None else figures.wall_resolution or "",
    }


def _halves(row: MergedRate) -> dict[str, Any]:
    """Both halves of the pressure drop with their spans, and how far the solutions are apart."""
    found: dict[str, Any] = {}
    for drop in HALVES:
        found |= pair(f"{drop}_Pa", row.quantity(drop))
        found |= end_columns(row, drop) | _sources(row, drop)
    return found | pair("solutions_apart_to_throat_end_percent", solutions_apart(row))


def _handbook(row: MergedRate | None, first: MergedRate | None) -> dict[str, Any]:
    """The handbooks' span, and its change against the first case, each compared with itself."""
    handbook = None if row is None else row.handbook
    span = None if handbook is None else handbook.spans.get(WHOLE)
    changes = [] if row is None or first is None else handbook_changes(row, first)
    values = [change.value for change in changes if change.value is not None]
    return {
        "handbook_pressure_drop_low_Pa": None if span is None else span.low,
        "handbook_pressure_drop_high_Pa": None if span is None else span.high,
        "handbook_pressure_drop_change_low_percent": min(values, default=None),
        "handbook_pressure_drop_change_high_percent": max(values, default=None),
    }


def change_columns(stem: str, unit: str, change: Change) -> dict[str, Any]:
    """A change, its uncertainty and its word."""
    return {
        f"{stem}_change_{unit}": change.value,
        f"{stem}_change_{unit}_uncertainty": change.uncertainty,
        f"{stem}_change_verdict": change.verdict,
    }


def span_columns(stem: str, change: SpanChange) -> dict[str, Any]:
    """The computed change, the word that holds, both ends' changes and each solution's."""
    found = change_columns(stem, "percent", change.computed)
    found[f"{stem}_change_verdict"] = change.verdict
    found[f"{stem}_change_low_percent"] = change.low.value
    found[f"{stem}_change_high_percent"] = change.high.value
    for word, each in change.solutions.items():
        found[f"{stem}_change_{word}_percent"] = each.value
        found[f"{stem}_change_{word}_percent_uncertainty"] = each.uncertainty
        found[f"{stem}_change_{word}_verdict"] = each.verdict
    return found
