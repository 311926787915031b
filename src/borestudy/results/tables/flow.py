"""The tables of the flow: at each rate, where its energy goes and where it leaves the wall."""

from collections.abc import Iterator, Sequence

import pandas as pd

from borestudy.flow.result import FlowAtRate, Separation
from borestudy.records import columns
from borestudy.results.case import CaseResults, flow_rates
from borestudy.results.changes import Change, flow_change
from borestudy.results.estimate import (
    DROPS,
    EXTREMES,
    HALVES,
    SOLUTIONS,
    TO_THROAT_END,
    WHOLE,
    EstimatedRate,
)
from borestudy.results.measured import ENDING, of_rate
from borestudy.results.tables.files import Row, frame_of, pair
from borestudy.results.tables.measured import measured_pair

NOT_COMPUTED = "not computed"
#: What describes a solve itself, or follows from the study alone: nothing to be uncertain of.
GIVEN = ("throat_velocity_m_per_s", "dynamic_pressure_Pa", "mach_number")
ESTIMATED = (
    "tolerance_reached", "pressure_drop_estimated_error_Pa", "error_estimator_consistent",
    "loss_coefficient_uncertainty",
)  # fmt: skip
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
    row = case.rate(index)
    named: Row = {"case": case.name, "flow_rate_L_per_s": rate}
    whole, to_throat_end = (
        change_columns(drop, "percent", flow_change(case, first, index, drop))
        for drop in (WHOLE, TO_THROAT_END)
    )
    if row is None:
        state: Row = {"regime": NOT_COMPUTED, "converged": False, "note": NOT_COMPUTED}
        return named | state | whole | to_throat_end
    # without numbers that an unconverged solve may have left
    found = {} if row.figures is None else columns(row.figures)
    return {
        **named,
        "throat_reynolds": row.throat_reynolds,
        **_measured(case, row, "pressure_drop_Pa", WHOLE),
        "loss_coefficient": found.get("loss_coefficient"),
        "regime": row.regime,
        **_ends(row, WHOLE),
        "converged": row.converged,
        "note": row.note,
        **_model_error(row, WHOLE),
        "transition_position_mm": found.get("transition_position_mm"),
        "model_words": "" if row.model_error is None else "; ".join(row.model_error.words),
        **{key: found.get(key) for key in ESTIMATED},
        **_measured(case, row, "flow_resistance_kPa_s_per_L", WHOLE, 1e-3 / rate),
        **whole,
        **_halves(case, row),
        **to_throat_end,
        **pair("discharge_coefficient", row.quantity("discharge_coefficient")),
        **_measured(case, row, "differential_resistance_kPa_s_per_L", "differential_resistance"),
        **_handbook(row),
        **{key: getattr(row, key) for key in GIVEN},
        **{key: found.get(key) for key in ERRORS},
        "y_plus": found.get("y_plus"),
        "wall_resolution": found.get("wall_resolution") or "",
        **_extremes(case, row),
        "last_converged_flow_rate_L_per_s": row.last_converged_flow_rate_L_per_s,
    }


def _ends(row: EstimatedRate, drop: str) -> Row:
    """The interval in which a pressure drop is believed to lie, with both errors."""
    found = row.interval(drop)
    return {
        f"{drop}_low_Pa": None if found is None else found.low,
        f"{drop}_high_Pa": None if found is None else found.high,
    }


def _model_error(row: EstimatedRate, drop: str) -> Row:
    """How far below and above the estimate the truth may lie by the model's error alone."""
    sides = None if row.model_error is None else row.model_error.drops.get(drop)
    return {
        f"{drop}_model_error_low_Pa": None if sides is None else sides.low,
        f"{drop}_model_error_high_Pa": None if sides is None else sides.high,
    }


def _halves(case: CaseResults, row: EstimatedRate) -> Row:
    """Both halves of the pressure drop with their errors."""
    found: Row = {}
    for drop in HALVES:
        found |= _measured(case, row, f"{drop}_Pa", drop)
        found |= _ends(row, drop) | _model_error(row, drop)
    return found


def _measured(
    case: CaseResults, row: EstimatedRate, column: str, quantity: str, factor: float = 1.0
) -> Row:
    """A figure with its errors, of a measured bore with what its stations' errors make of it."""
    effects = of_rate(case, row, quantity)
    return measured_pair(column, row.quantity(quantity), case, effects, factor)


def _extremes(case: CaseResults, row: EstimatedRate) -> Row:
    """The extremes' own pressure drops, of those that the study asks for."""
    found: Row = {}
    for word in EXTREMES:
        if not (word in case.flow.extremes or case.flow.has(word)):
            continue
        found[f"{word}_converged"] = getattr(row.sought(word), "converged", None)
        for drop in DROPS:
            found |= pair(f"{word}_{drop}_Pa", row.quantity(drop, word))
    return found


def _handbook(row: EstimatedRate) -> Row:
    """The handbooks' span, which stands beside the answer."""
    span = row.handbook.get(WHOLE) if row.converged else None
    return {
        "handbook_pressure_drop_low_Pa": None if span is None else span.low,
        "handbook_pressure_drop_high_Pa": None if span is None else span.high,
    }


def change_columns(stem: str, unit: str, change: Change) -> Row:
    """A change, its uncertainty, what is in that of measured stations, and its word."""
    name = f"{stem}_change_{unit}"
    known = change.measurement is not None
    return {
        name: change.value,
        f"{name}_uncertainty": change.uncertainty,
        **({f"{name}{ENDING}": change.measurement} if known else {}),
        f"{stem}_change_verdict": change.verdict,
    }


def energy_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate and converged solution: the budget of mechanical energy.

    What the air loses from rim plane to shank end is dissipated in the parts; the static pressure
    falls besides by the rise of its kinetic energy.
    """
    table = frame_of([row for case in cases for row in energy_rows(case)])
    unused = [name for name in map(str, table.columns) if is_of_no_part(name, _empty(table[name]))]
    return table.drop(columns=unused)


def _empty(cells: "pd.Series[float]") -> bool:
    return bool(cells.isna().all())


def is_of_no_part(column: str, empty: bool) -> bool:
    """Whether an empty column of the energy is of a part that no bore has."""
    return empty and column.startswith("dissipation_")


def energy_rows(case: CaseResults) -> Iterator[Row]:
    """A case's rows, with every part's dissipation, empty of a part that the bore has not."""
    for figures, row in _solutions(case):
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
        yield row | pair("jet_contraction", figures.jet_contraction)


def separation_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, flow rate, solution and place where the air leaves the wall.

    A solution that leaves it nowhere has one row that says so.
    """
    return frame_of([row for case in cases for row in separation_rows(case)])


def separation_rows(case: CaseResults) -> Iterator[Row]:
    """A case's rows, at least one a converged solution."""
    for figures, row in _solutions(case):
        for bubble in figures.separations or (Separation(),):
            yield row | _place(case, bubble) | columns(bubble)


def _place(case: CaseResults, bubble: Separation) -> Row:
    """The part of the bore in which the air leaves the wall, and what becomes of it."""
    if bubble.separation is None:
        return {"part": "", "wall": STAYS}
    place = bubble.separation.value + EDGE
    parts = {} if case.geometry is None else case.geometry.parts
    inside = [name for name, (start, _) in parts.items() if start <= place]
    wall = LEAVES if bubble.reattachment is None else RETURNS
    return {"part": inside[-1] if inside else "", "wall": wall}


def _solutions(case: CaseResults) -> Iterator[tuple[FlowAtRate, Row]]:
    """A case's converged solutions, with the columns that name them."""
    for row in case.rates:
        for word in SOLUTIONS:
            if (figures := row.of(word)) is not None:
                named: Row = {"case": case.name, "flow_rate_L_per_s": row.flow_rate_L_per_s}
                yield figures, named | {"regime": row.regime, "solution": word}
