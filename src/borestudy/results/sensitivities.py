"""What a small change of each dimension does to each quantity, ranked, beside the numerical noise.

Effects are first derivatives times a step that a workshop knows: 0.01 mm, 0.001 in, and one per
cent.  One per cent of a length is one per cent of its value.  An angle and a pure number may well
be 0, so that a per cent of their value says nothing; theirs is one per cent of the whole range that
they may have (`FULL_RANGE`).
"""

import math
from collections.abc import Iterator, Sequence

import pandas as pd

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import DimensionValue
from borestudy.results.estimate import NO_NUMBER
from borestudy.results.reported import Reported, reported, unreported
from borestudy.results.tables.files import Row, frame_of

#: Steps of a length [mm], by what their columns are called.
STEPS_MM = {"0.01_mm": 0.01, "0.001_in": 0.0254}
THOUSANDTH, PERCENT = "0.001_in", "1_percent"
#: Least to greatest value of an angle [degrees] and of pure numbers, by their keys.
FULL_RANGE = {"cup.shape": 1.0, "backbore.taper": 2.0}
FULL_ANGLE = 90.0
NO_SLOPE = "derivative not computed"
NO_SHARE = f"{NO_NUMBER}the quantity is 0, of which nothing is a per cent"
ABOVE, WITHIN = "yes", "no"
#: Every column, in order, and those of words.
COLUMNS = (
    "case", "dimension", "dimension_label", "dimension_value", "dimension_unit", "position_mm",
    "quantity", "flow_rate_L_per_s", "value", "unit", "uncertainty", "slope_per_unit",
    "slope_uncertainty", "effect_unit", "effect_of_0.01_mm", "effect_of_0.01_mm_uncertainty",
    "effect_of_0.001_in", "effect_of_0.001_in_uncertainty", "effect_of_1_percent",
    "effect_of_1_percent_uncertainty", "noise_floor", "rank", "above_noise", "note",
)  # fmt: skip
WORDS = (
    "dimension", "dimension_label", "dimension_unit", "unit", "effect_unit", "above_noise", "note",
)  # fmt: skip


def steps_of(dimension: DimensionValue) -> dict[str, float]:
    """Steps of a dimension in its own unit, by what their columns are called."""
    if dimension.unit == "mm":
        return STEPS_MM | {PERCENT: 0.01 * dimension.value}
    whole = FULL_ANGLE if dimension.unit == "deg" else FULL_RANGE.get(dimension.key, 1.0)
    return {PERCENT: 0.01 * whole}


def ranks(found: Reported, dimensions: Sequence[DimensionValue]) -> dict[str, int]:
    """Place of each length by the size of the effect of 0.001 in on a quantity, 1 for the largest.

    A dimension that is no length, or without a derivative, has no place.
    """
    sizes = {
        one.key: abs(effect.value)
        for one in dimensions
        if one.unit == "mm" and (effect := found.effect(one.key, STEPS_MM[THOUSANDTH])) is not None
    }
    ordered = sorted(sizes, key=lambda key: sizes[key], reverse=True)
    return {key: place for place, key in enumerate(ordered, 1)}


def above_noise(effect: Quantity, noise_floor: float | None) -> bool | None:
    """Whether an effect is larger than its own error and than the quantity's; None: not known."""
    if noise_floor is None or effect.uncertainty is None:
        return None
    return abs(effect.value) > max(noise_floor, effect.uncertainty)


def sensitivities_table(cases: Sequence[CaseResults]) -> pd.DataFrame:
    """One row a case, quantity and dimension; a quantity without a number has one that says why.

    Rows are in the order of the cases, of their quantities and of the ranks, with the dimensions
    that have none at the end.
    """
    return sensitivities_frame([row for case in cases for row in sensitivity_rows(case, cases[0])])


def sensitivity_rows(case: CaseResults, first: CaseResults) -> Iterator[Row]:
    """A case's rows, of which each leaves out what it has not."""
    for found in reported(case, first).values():
        yield from _rows(case, found)
    for name, why in unreported(case, first).items():
        yield {"case": case.name, "quantity": name, "note": why}


def sensitivities_frame(rows: Sequence[Row]) -> pd.DataFrame:
    """Rows as a table with every column."""
    blank = dict.fromkeys(COLUMNS, None) | dict.fromkeys(WORDS, "")
    return frame_of([blank | row for row in rows]).astype({"rank": "Int64"})


def _rows(case: CaseResults, found: Reported) -> list[Row]:
    """A quantity's rows, one a dimension."""
    quantity: Row = {
        "case": case.name,
        "quantity": found.name,
        "flow_rate_L_per_s": found.flow_rate_L_per_s,
        "value": found.value.value,
        "unit": found.unit,
        "uncertainty": found.value.uncertainty,
        "effect_unit": found.relative_in,
        "noise_floor": found.noise_floor if found.value.value else None,
    }
    missing = NO_SLOPE if found.value.value else NO_SHARE
    places = ranks(found, case.dimensions)
    last = len(places) + 1
    rows = [
        quantity | _of_dimension(found, one, missing) | {"rank": places.get(one.key)}
        for one in sorted(case.dimensions, key=lambda one: places.get(one.key, last))
    ]
    return rows or [quantity | {"note": missing}]


def _of_dimension(found: Reported, dimension: DimensionValue, missing: str) -> Row:
    row: Row = {
        "dimension": dimension.key,
        "dimension_label": dimension.label,
        "dimension_value": dimension.value,
        "dimension_unit": dimension.unit,
        "position_mm": dimension.position_mm,
    }
    slope = found.slopes.get(dimension.key)
    if slope is None or not math.isfinite(slope.value):
        return row | {"note": missing}
    row |= {"slope_per_unit": slope.value, "slope_uncertainty": slope.uncertainty}
    steps = steps_of(dimension)
    effects = {name: found.effect(dimension.key, step) for name, step in steps.items()}
    for name, effect in effects.items():
        if effect is not None:
            row[f"effect_of_{name}"] = effect.value
            row[f"effect_of_{name}_uncertainty"] = effect.uncertainty
    judged = effects.get(THOUSANDTH, effects[PERCENT])
    clear = None if judged is None else above_noise(judged, found.noise_floor)
    return row | {"above_noise": "" if clear is None else ABOVE if clear else WITHIN}
