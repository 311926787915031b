"""The tables of the flow: at each rate, where its energy goes and where it leaves the wall."""

from collections.abc import Iterator, Sequence

import pandas as pd

from borestudy.flow.result import FlowAtRate, Separation
from borestudy.records import columns
from borestudy.results.case import CaseResults, flow_rates
from borestudy.results.changes import Change
from borestudy.results.merged_flow import SOLUTIONS, MergedRate
from borestudy.results.span_changes import handbook_changes, solutions_apart, span_change
from borestudy.results.spans import DROPS, HALVES, TO_THROAT_END, TURBULENT, WHOLE
from borestudy.results.tables.files import Row, frame_of, pair

NOT_COMPUTED = "not computed"
#: What describes a solve itself, or follows from the study alone: nothing to be uncertain of.
GIVEN = ("throat_velocity_m_per_s", "dynamic_pressure_Pa", "mach_number")
ERRORS = ("mass_balance", "section_mass_flux", "energy_balance", "residual")
#: In the order of the flow.
PARTS = ("cup", "entry", "throat", "backbore")
STAYS, RETURNS, LEAVES = "stays on the wall", "comes back", "does not come back"
EDGE = 0.01  # mm: a corner belongs to the part that begins there


def flow_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case and flow rate, converged or not."""
    rates = list(enumerate(flow_rates(cases)))
    return frame_of([flow_row(case, cases[0], *rate) for case in cases for rate in rates])


def flow_row(case: CaseResults, first: CaseResults, index: int, rate: float) -> Row:
    """The row of a case at the study's flow rate of an index, which is so many L/s."""
    row, base = case.rate(index), first.rate(index)
    named: Row = {"case": case.name, "flow_rate_L_per_s": rate}
    whole, to_throat_end = (
        _span_changes(case, first, index, drop) for drop in (WHOLE, TO_THROAT_END)
    )
    if row is None:
        state: Row = {"regime": NOT_COMPUTED, "converged": False, "span_note": NOT_COMPUTED}
        return named | state | whole | to_throat_end
    # without numbers that an unconverged solve may have left
    found = {} if row.figures is None else columns(row.figures)
    drop = row.quantity(WHOLE)
    estimate = ("tolerance_reached", "pressure_drop_estimated_error_Pa",
                "error_estimator_consistent", "loss_coefficient_uncertainty")  # fmt: skip
    return {
        **named,
        "throat_reynolds": row.throat_reynolds,
        **pair("pressure_drop_Pa", drop),
        "loss_coefficient": found.get("loss_coefficient"),
        "regime": row.regime,
        **_ends(row, WHOLE),
        "converged": row.converged,
        "solution": row.solution or "",
        **_sources(row, WHOLE),
        "span_note": row.note,
        **{key: found.get(key) for key in estimate},
        **pair("flow_resistance_kPa_s_per_L", drop, 1e-3 / rate),
        **_turbulent(row),
        **whole,
        **_halves(row),
        **to_throat_end,
        **pair("discharge_coefficient", row.quantity("discharge_coefficient")),
        **pair("differential_resistance_kPa_s_per_L", row.quantity("differential_resistance")),
        **_handbook(row, base),
        **{key: getattr(row, key) for key in GIVEN},
        **{key: found.get(key) for key in ERRORS},
        "last_converged_flow_rate_L_per_s": row.last_converged_flow_rate_L_per_s,
    }


def _ends(row: MergedRate, drop: str) -> Row:
    span = row.spans.get(drop)
    return {f"{drop}_{end}_Pa": getattr(span, end, None) for end in ("low", "high")}


def _sources(row: MergedRate, drop: str) -> Row:
    span = row.spans.get(drop)
    return {f"{drop}_{end}": getattr(span, end, None) for end in ("low_from", "high_from")}


def _turbulent(row: MergedRate) -> Row:
    """The turbulent solution's own figures, and how well its meshes resolve the wall."""
    figures = row.of(TURBULENT)
    found: Row = {
        f"{word}_converged": getattr(row.sought(word), "converged", None) for word in SOLUTIONS
    }
    for drop in DROPS:
        found |= pair(f"turbulent_{drop}_Pa", row.quantity(drop, TURBULENT))
    return found | {
        "turbulent_residual": getattr(row.turbulent, "residual", None),
        "turbulent_section_mass_flux": getattr(figures, "section_mass_flux", None),
        "y_plus": getattr(figures, "y_plus", None),
        "wall_resolution": getattr(figures, "wall_resolution", None) or "",
    }


def _halves(row: MergedRate) -> Row:
    """Both halves of the pressure drop with their spans, and how far the solutions are apart."""
    found: Row = {}
    for drop in HALVES:
        found |= pair(f"{drop}_Pa", row.quantity(drop)) | _ends(row, drop) | _sources(row, drop)
    return found | pair("solutions_apart_to_throat_end_percent", solutions_apart(row))


def _handbook(row: MergedRate, first: MergedRate | None) -> Row:
    """The handbooks' span, and its change against the first case, each compared with itself."""
    book = row.handbook if row.converged else None
    span = None if book is None else book.spans.get(WHOLE)
    changes = [] if first is None or not row.converged else handbook_changes(row, first)
    values = [change.value for change in changes if change.value is not None]
    return {
        "handbook_pressure_drop_low_Pa": getattr(span, "low", None),
        "handbook_pressure_drop_high_Pa": getattr(span, "high", None),
        "handbook_pressure_drop_change_low_percent": min(values, default=None),
        "handbook_pressure_drop_change_high_percent": max(values, default=None),
    }


def change_columns(stem: str, unit: str, change: Change) -> Row:
    """A change, its uncertainty and its word."""
    return {
        f"{stem}_change_{unit}": change.value,
        f"{stem}_change_{unit}_uncertainty": change.uncertainty,
        f"{stem}_change_verdict": change.verdict,
    }


def _span_changes(case: CaseResults, first: CaseResults, rate: int, drop: str) -> Row:
    """The computed change, the word that holds, both ends' changes and each solution's."""
    change = span_change(case, first, rate, drop)
    found = change_columns(drop, "percent", change.computed) | {
        f"{drop}_change_verdict": change.verdict,
        f"{drop}_change_low_percent": change.low.value,
        f"{drop}_change_high_percent": change.high.value,
    }
    for word, each in change.solutions.items():
        found[f"{drop}_change_{word}_percent"] = each.value
        found[f"{drop}_change_{word}_percent_uncertainty"] = each.uncertainty
        found[f"{drop}_change_{word}_verdict"] = each.verdict
    return found


def energy_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate and converged solution: the budget of mechanical energy.

    What the air loses from rim plane to shank end is dissipated in the parts; the static pressure
    falls besides by the rise of its kinetic energy.
    """
    rows = []
    for _, figures, row in _solutions(cases):
        if (budget := figures.budget) is None:
            continue
        row |= pair("loss_Pa", budget.loss)
        row |= pair("kinetic_energy_rise_Pa", budget.kinetic_energy_rise)
        shares = budget.dissipation_by_part or {}
        # A part that one case has and another has not is none of nothing, in its place all the same
        for part in dict.fromkeys((*PARTS, *shares)):
            row |= pair(f"dissipation_{part}_Pa", shares.get(part))
        balance = figures.energy_balance
        row["energy_balance_percent"] = None if balance is None else 100 * balance
        rows.append(row | pair("jet_contraction", figures.jet_contraction))
    table = frame_of(rows)
    shares_of = [name for name in map(str, table.columns) if name.startswith("dissipation_")]
    return table.drop(columns=[name for name in shares_of if table[name].isna().all()])


def separation_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate, solution and place where the air leaves the wall.

    A solution that leaves it nowhere has one row that says so.
    """
    return frame_of(
        [
            row | _place(case, bubble) | columns(bubble)
            for case, figures, row in _solutions(cases)
            for bubble in figures.separations or (Separation(),)
        ]
    )


def _place(case: CaseResults, bubble: Separation) -> Row:
    """The part of the bore in which the air leaves the wall, and what becomes of it."""
    if bubble.separation is None:
        return {"part": "", "wall": STAYS}
    place = bubble.separation.value + EDGE
    parts = {} if case.geometry is None else case.geometry.parts
    inside = [name for name, (start, _) in parts.items() if start <= place]
    wall = LEAVES if bubble.reattachment is None else RETURNS
    return {"part": inside[-1] if inside else "", "wall": wall}


def _solutions(
    cases: Sequence[CaseResults],
) -> Iterator[tuple[CaseResults, FlowAtRate, Row]]:
    """Each case's converged solutions, with the columns that name them."""
    for case in cases:
        for row in case.rates:
            for word in SOLUTIONS:
                if (figures := row.of(word)) is not None:
                    named: Row = {"case": case.name, "flow_rate_L_per_s": row.flow_rate_L_per_s}
                    yield case, figures, named | {"regime": row.regime, "solution": word}
