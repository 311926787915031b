"""Tables of a made-up study of any number of cases, whose figures follow powers of what is varied.

The columns are those that the tables' own functions make of two invented cases; figures that a
report sums up are laid over them by laws in closed form, so that extremes, percentiles and trends
are known beforehand.
"""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from borestudy.intervals import cents
from borestudy.results.check import Check
from borestudy.results.tables.comparison import (
    cases_table,
    comparison_table,
    peaks_table,
    stream_table,
)
from borestudy.results.tables.files import verification_table
from borestudy.results.tables.flow import energy_table, flow_table, separation_table

from .conftest import make_case
from .invented import invented_cases

#: Flow rates [L/s], and the one that cases are compared at.
RATES = (0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
REFERENCE = 4
#: First resonance [Hz], its Q and its height [Pa·s/m³], and the flow resistance [kPa·s/L] at 1 L/s,
#: which grows with the power 0.6 of the rate.
FIRST = {"frequency": 800.0, "Q": 6.0, "height": 2e7, "resistance": 1.1}
GROWTH = 0.6
#: Powers of the first, the second, … varied dimension over its value in the first case, each
#: larger by 1 where that is 0.
POWERS = {
    "frequency": (0.6, -0.35, 0.05),
    "Q": (-0.9, 0.2, 0.1),
    "height": (-0.5, -0.4, 0.0),
    "resistance": (-4.0, 0.02, -0.2),
}
#: Relative numerical uncertainty of each figure, and of a change of the flow the model's as well.
ERRORS = {"frequency": 1e-5, "Q": 1e-3, "height": 2e-3, "resistance": 2e-3}
CHANGE_ERROR_PERCENT = 0.8
RESISTANCE = "flow_resistance_kPa_s_per_L"
NO_MESH = "not meshed: no triangle fits between the entry and the throat"
NOT_CONVERGED = "did not converge"

Real = NDArray[np.float64]


def ratios(varied: Mapping[str, Sequence[Any]]) -> dict[str, Real]:
    """Every figure over the first case's, by the varied columns of numbers, shape (n_cases,)."""
    numbers = [np.asarray(column, float) for column in varied.values() if _is_number(column)]
    count = len(next(iter(varied.values())))
    found = {name: np.ones(count) for name in POWERS}
    for name, powers in POWERS.items():
        for column, power in zip(numbers, powers, strict=False):
            sizes = column if column[0] else 1 + column
            found[name] = found[name] * (sizes / sizes[0]) ** power
    return found


def large_tables(
    names: Sequence[str],
    varied: Mapping[str, Sequence[Any]],
    rates: Sequence[float] = RATES,
    unmeshed: Collection[int] = (),
    unsolved: Collection[int] = (),
) -> dict[str, pd.DataFrame]:
    """All tables of a study by the names of their files.

    Parameters
    ----------
    names : sequence of str
        The cases' names.
    varied : mapping of str to sequence
        The columns of what is varied; those of numbers decide the figures.
    rates : sequence of float
        Flow rates [L/s].
    unmeshed, unsolved : collection of int
        Cases without any mesh, and without a solution at the greatest rate.
    """
    of, count = ratios(varied), len(names)
    lost = np.isin(np.arange(count), list(unmeshed))
    base = 1e3 * FIRST["resistance"]
    pair = [make_case(name, {}, rates=rates, resistance=base) for name in ("first", "other")]
    at = min(REFERENCE, len(rates) - 1)
    at_rate = FIRST["resistance"] * rates[at] ** GROWTH
    front = {"case": list(names), **varied}
    comparison = _laid_over(comparison_table(pair, at), front, _sound(of, lost))
    comparison |= _flow(of["resistance"], "flow_resistance", "kPa_s_per_L", at_rate)
    comparison |= {"pressure_drop_Pa": 1e3 * rates[at] * comparison[RESISTANCE]}
    comparison |= {"regime": np.where(lost, "not meshed", "turbulent")}
    whole = pd.DataFrame(comparison)
    whole.loc[lost, [name for name in whole if _is_flow(name)]] = np.nan
    whole.loc[lost, [name for name in whole if name.endswith("_verdict")]] = "not known: no result"
    peaks = _tiled(peaks_table(pair).iloc[1:2], names)
    invented = invented_cases()[:1]
    return {
        "cases": pd.DataFrame(_laid_over(cases_table(pair), front, {})),
        "comparison": whole,
        "peaks": peaks.assign(resonance_Hz=whole["resonance_Hz"].to_numpy()),
        "flow": _flow_table(flow_table(pair), names, rates, of["resistance"], lost, unsolved),
        "stream": _tiled(stream_table(invented), names),
        "energy": _tiled(energy_table(invented), names),
        "separations": _tiled(separation_table(invented), names),
        "verification": verification_table(
            [Check("closed pipe", "resonance 1", "Hz", 100.01, 100.0, 0.1, "closed form")],
            [(names[at], "flow", NO_MESH) for at in np.flatnonzero(lost)],
        ),
        "sensitivities": pd.DataFrame(),
        "tolerances": pd.DataFrame(),
        "hand_formulas": pd.DataFrame(),
        "budget": pd.DataFrame(),
    }


def _is_number(column: Sequence[Any]) -> bool:
    return pd.api.types.is_numeric_dtype(pd.Series(column))


def _is_flow(name: str) -> bool:
    """Whether a column of the comparison holds no number without a mesh."""
    return name.startswith(("flow_resistance", "pressure_drop")) and not name.endswith("_verdict")


def _laid_over(
    table: pd.DataFrame, front: Mapping[str, Sequence[Any]], columns: Mapping[str, Any]
) -> dict[str, Any]:
    """The last row of a table for every case, with some columns replaced."""
    last = table.iloc[-1].to_dict()
    count = len(front["case"])
    same = {name: [value] * count for name, value in last.items() if name not in front}
    return {**front, **same, **columns}


def _tiled(rows: pd.DataFrame, names: Sequence[str]) -> pd.DataFrame:
    """The same rows for every case."""
    every = rows.iloc[np.tile(np.arange(len(rows)), len(names))].reset_index(drop=True)
    return every.assign(case=np.repeat(np.asarray(names, dtype=object), len(rows)))


def _verdicts(change: Real, error: Real) -> NDArray[np.str_]:
    words = np.where(change > 0, "higher", "lower")
    return np.where(np.abs(change) > error, words, "no difference beyond the numerical uncertainty")


def _sound(of: Mapping[str, Real], lost: NDArray[np.bool_]) -> dict[str, Any]:
    columns = {
        "resonance_Hz": "frequency", "resonance_Q": "Q", "impedance_peak_Pa_s_per_m3": "height",
    }  # fmt: skip
    found: dict[str, Any] = {}
    for column, name in columns.items():
        value = np.where(lost, np.nan, FIRST[name] * of[name])
        found |= {column: value, f"{column}_uncertainty": ERRORS[name] * value}
        stem = column.removesuffix("_Hz").removesuffix("_Pa_s_per_m3")
        unit = "cents" if name == "frequency" else "percent"
        change = cents(of[name]) if name == "frequency" else 100 * (of[name] - 1)
        error = 0 * change + (cents(1 + 2 * ERRORS[name]) if unit == "cents" else 0.2)
        error[0] = 0.0
        found |= {
            f"{stem}_change_{unit}": np.where(lost, np.nan, change),
            f"{stem}_change_{unit}_uncertainty": np.where(lost, np.nan, error),
            f"{stem}_change_verdict": _verdicts(change, error),
        }
    return found


def _flow(ratio: Real, stem: str, unit: str, base: float) -> dict[str, Any]:
    value, change = base * ratio, 100 * (ratio - 1)
    error = np.full(len(ratio), CHANGE_ERROR_PERCENT)
    error[0] = 0.0
    return {
        f"{stem}_{unit}": value,
        f"{stem}_{unit}_uncertainty": ERRORS["resistance"] * value,
        f"{stem}_low_{unit}": 0.9 * value,
        f"{stem}_high_{unit}": 1.1 * value,
        f"{stem}_change_percent": change,
        f"{stem}_change_percent_uncertainty": error,
        f"{stem}_change_verdict": _verdicts(change, error),
    }


def _flow_table(
    rows: pd.DataFrame,
    names: Sequence[str],
    rates: Sequence[float],
    ratio: Real,
    lost: NDArray[np.bool_],
    unsolved: Collection[int],
) -> pd.DataFrame:
    table = _tiled(rows.iloc[len(rates) :], names)
    rate = np.tile(np.asarray(rates, float), len(names))
    bases = 1e3 * FIRST["resistance"] * rate ** (1 + GROWTH)
    each = np.repeat(ratio, len(rates))
    columns = _flow(each, "pressure_drop", "Pa", 1.0)
    for name in columns:
        if name.endswith("_Pa") or name.endswith("_Pa_uncertainty"):
            columns[name] = bases * columns[name]
    columns[RESISTANCE] = 1e-3 * columns["pressure_drop_Pa"] / rate
    table = table.assign(**columns)
    no_mesh = np.repeat(lost, len(rates))
    last = np.tile(np.arange(len(rates)) == len(rates) - 1, len(names))
    no_solution = last & np.repeat(np.isin(np.arange(len(names)), list(unsolved)), len(rates))
    numbers = [name for name in columns if not name.endswith("_verdict")]
    table.loc[no_mesh | no_solution, numbers] = np.nan
    table["converged"] = ~(no_mesh | no_solution)
    table["note"] = np.select([no_mesh, no_solution], [NO_MESH, NOT_CONVERGED], "")
    return table
