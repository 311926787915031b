"""Invented rows of sensitivities.csv, in which every effect and noise floor is another number."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

RATES = (0.05, 0.2)
#: Key of each dimension: words, value and unit.
DIMENSIONS = {
    "length": ("overall length", 88.0, "mm"),
    "cup.diameter": ("rim diameter", 16.2, "mm"),
    "cup.depth": ("cup depth", 10.8, "mm"),
    "cup.shape": ("cup shape", 0.6, ""),
    "throat.diameter": ("throat diameter", 3.66, "mm"),
    "throat.length": ("throat length", 5.0, "mm"),
    "backbore.end_diameter": ("backbore end diameter", 9.0, "mm"),
    "throat.entry.radius": ("entry radius", 1.0, "mm"),
    "backbore.taper": ("backbore taper", 0.2, ""),
}
#: Slopes per mm or 1, in cents or percent, in the order of the dimensions.
SLOPES = {
    "resonance": (-11.0, -37.0, -29.0, -210.0, 231.0, -23.0, 3.1, 6.7, 41.0),
    "resonance Q": (-0.9, 1.7, 1.3, 12.0, -31.0, 7.0, -2.3, -1.1, 8.3),
    "resonance impedance": (0.7, -6.1, -5.3, -44.0, -71.0, 12.7, -1.9, -2.9, 17.0),
    "flow resistance": (0.013, 0.0, 0.003, 0.9, -113.0, 3.7, -1.3, -7.9, -9.7),
    "slope of pressure drop": (0.017, 0.0, 0.007, 1.1, -117.0, 3.3, -1.7, -8.9, -8.7),
    "cup volume": (0.0, 11.9, 8.3, 61.0, 0.19, 0.0, 0.0, 0.47, 0.0),
}
NOISE = {
    "resonance": 0.07, "resonance Q": 0.23, "resonance impedance": 0.31, "flow resistance": 0.43,
    "slope of pressure drop": 1.9, "cup volume": 0.0,
}  # fmt: skip
PEAKS = tuple(range(2, 13))
VALUES = {"resonance": 800.0, "resonance Q": 14.0, "cup volume": 1.1}


def sensitivities(
    cases: Sequence[str],
    rates: Sequence[float] = RATES,
    stations: Sequence[float] = (),
    air_column: bool = False,
) -> pd.DataFrame:
    """Rows of cases; with stations [mm] of a measured bore, with an air column's peaks as well."""
    dimensions = dict(DIMENSIONS)
    slopes = {name: np.array(values) for name, values in SLOPES.items()}
    noise = dict(NOISE)
    if stations:
        dimensions = {
            f"station {number}": (f"radius at {place:.4g} mm", 4.0 - 0.02 * place, "mm")
            for number, place in enumerate(stations, 1)
        }
        shape = np.cos(np.arange(len(stations)) + 0.3)
        slopes = {name: values.max() * shape**3 for name, values in slopes.items()}
    if air_column:
        for peak in PEAKS:
            slopes[f"peak {peak}"] = slopes["resonance"] * peak / 8.1
            noise[f"peak {peak}"] = 0.011 * peak
    rows = []
    for index, case in enumerate(cases):
        for quantity, values in slopes.items():
            flowing = quantity in ("flow resistance", "slope of pressure drop")
            for place, rate in enumerate(rates if flowing else (None,)):
                factor = (1 + 0.1 * place) * (1 + index)
                name = quantity if rate is None else f"{quantity} at {rate:g} L/s"
                rows += _rows(case, name, rate, factor * values, noise[quantity], dimensions)
    return pd.DataFrame(rows).astype({"rank": "Int64"})


def _rows(
    case: str,
    quantity: str,
    rate: float | None,
    slopes: np.ndarray,
    noise: float,
    dimensions: Mapping[str, tuple[str, float, str]],
) -> list[dict[str, object]]:
    in_cents = quantity == "resonance" or quantity.startswith("peak")
    rows: list[dict[str, object]] = []
    for slope, (key, (label, value, unit)) in zip(slopes, dimensions.items(), strict=True):
        is_length = unit == "mm"
        full = 2.0 if key == "backbore.taper" else 1.0
        steps = {"0.01_mm": 0.01, "0.001_in": 0.0254} if is_length else {}
        steps["1_percent"] = 0.01 * (value if is_length else full)
        row: dict[str, object] = {
            "case": case, "dimension": key, "dimension_label": label, "dimension_value": value,
            "dimension_unit": unit,
            "position_mm": float(label.split()[2]) if key.startswith("station") else np.nan,
            "quantity": quantity, "flow_rate_L_per_s": np.nan if rate is None else rate,
            "value": VALUES.get(quantity, 3.0), "unit": "Hz" if in_cents else "",
            "uncertainty": 0.01, "slope_per_unit": slope, "slope_uncertainty": 0.03 * abs(slope),
            "effect_unit": "cents" if in_cents else "percent",
            "effect_of_0.01_mm": np.nan, "effect_of_0.01_mm_uncertainty": np.nan,
            "effect_of_0.001_in": np.nan, "effect_of_0.001_in_uncertainty": np.nan,
            "noise_floor": noise, "note": "",
        }  # fmt: skip
        for name, step in steps.items():
            row[f"effect_of_{name}"] = step * slope
            row[f"effect_of_{name}_uncertainty"] = 0.03 * abs(step * slope)
        judged = row["effect_of_0.001_in" if is_length else "effect_of_1_percent"]
        row["above_noise"] = "yes" if abs(float(str(judged))) > noise else "no"
        rows.append(row)
    lengths = [row for row in rows if row["dimension_unit"] == "mm"]
    lengths.sort(key=lambda row: -abs(float(str(row["slope_per_unit"]))))
    for rank, row in enumerate(lengths, 1):
        row["rank"] = rank
    others = [row | {"rank": None} for row in rows if row["dimension_unit"] != "mm"]
    return [*lengths, *others]
