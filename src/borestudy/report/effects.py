"""What each dimension of one case does to its quantities, read from the table of sensitivities."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from borestudy.rounding import MINUS, is_missing, significant

#: A workshop's step, and what stands for it where a dimension is no length; as in the columns.
THOUSANDTH, PERCENT = "effect_of_0.001_in", "effect_of_1_percent"
THOUSANDTH_MM = 0.0254
RESONANCE, RESISTANCE, SLOPE = "resonance", "flow resistance", "slope of pressure drop"
#: Quantities in the words of figures and sentences; one at a flow rate has that behind it.
WORDS = {
    RESONANCE: "first resonance",
    "resonance Q": "Q of the first resonance",
    "resonance impedance": "height of its impedance peak",
    RESISTANCE: RESISTANCE,
    SLOPE: "slope of the pressure drop",
}
UNITS = {"cents": "cents", "percent": "%"}


@dataclass(frozen=True)
class Effect:
    """What one step of a dimension does to a quantity, with the numerical uncertainty of that.

    The step is 0.001 in more of a length, and one per cent of the whole range of a pure number or
    an angle.  Of a station of a measured bore, `position` is where it lies [mm].
    """

    key: str
    label: str
    size: float
    size_unit: str
    value: float
    uncertainty: float | None = None
    position: float | None = None
    is_above_noise: bool | None = None

    @property
    def is_of_length(self) -> bool:
        """Whether the dimension is a length."""
        return self.size_unit == "mm"


@dataclass(frozen=True)
class Effects:
    """The effects on a quantity, the largest first; those of what is no length are the last.

    `noise` is the quantity's own numerical uncertainty in the effects' unit; None if not known.
    The rate [L/s] is that of a quantity of the flow.
    """

    quantity: str
    unit: str
    noise: float | None
    effects: Sequence[Effect]
    rate: float | None = None

    @property
    def words(self) -> str:
        """The quantity in words."""
        return WORDS.get(self.quantity, self.quantity)

    @property
    def at_rate(self) -> str:
        """At which flow rate it is; nothing where that does not matter."""
        return "" if self.rate is None else f"at {self.rate:g} L/s"

    @property
    def lengths(self) -> list[Effect]:
        """Those of lengths alone."""
        return [one for one in self.effects if one.is_of_length]

    def of(self, key: str) -> Effect | None:
        """The effect of one dimension; None where there is none."""
        return next((one for one in self.effects if one.key == key), None)


def effects_of(table: pd.DataFrame, quantity: str, rate: float | None = None) -> Effects | None:
    """The effects on a quantity of the first case in a table; None without any.

    A rate [L/s] is asked for of the flow's quantities, whose names in the table end in it.
    """
    if table.empty:
        return None
    rows = table[(table["case"] == table["case"].iloc[0]) & table["value"].notna()]
    if rate is None:
        rows = rows[rows["quantity"] == quantity]
    else:
        of_flow = rows["quantity"].astype(str).str.startswith(f"{quantity} at ")
        rows = rows[of_flow & ((rows["flow_rate_L_per_s"] - rate).abs() < 1e-9 * rate)]
    found = [(row["rank"], one) for row in rows.to_dict("records") if (one := _effect(row))]
    if not found:
        return None
    labels = Counter(one.label for _, one in found)
    found = [
        (rank, replace(one, label=f"{one.label} ({one.key})") if labels[one.label] > 1 else one)
        for rank, one in found
    ]
    found.sort(key=lambda pair: (not pair[1].is_of_length, _place(*pair)))
    unit = UNITS[str(rows["effect_unit"].iloc[0])]
    noise = rows["noise_floor"].iloc[0]
    known = None if is_missing(noise) else float(noise)
    return Effects(quantity, unit, known, [one for _, one in found], rate)


def _effect(row: dict[Any, Any]) -> Effect | None:
    """A row's effect; None where it has none."""
    step = THOUSANDTH if row["dimension_unit"] == "mm" else PERCENT
    if is_missing(row["dimension"]) or is_missing(row[step]):
        return None
    error, position = row[f"{step}_uncertainty"], row["position_mm"]
    return Effect(
        key=str(row["dimension"]),
        label=str(row["dimension_label"]),
        size=float(row["dimension_value"]),
        size_unit="" if is_missing(row["dimension_unit"]) else str(row["dimension_unit"]),
        value=float(row[step]),
        uncertainty=None if is_missing(error) else float(error),
        position=None if is_missing(position) else float(position),
        is_above_noise={"yes": True, "no": False}.get(str(row["above_noise"])),
    )


def _place(rank: Any, effect: Effect) -> float:
    """Where an effect stands among others, by its rank where it has one, else by its size."""
    return -abs(effect.value) if is_missing(rank) else float(rank)


def peaks_of(table: pd.DataFrame) -> list[int]:
    """Numbers of an air column's peaks that the table has for its first case, lowest first."""
    if table.empty:
        return []
    names = table.loc[table["case"] == table["case"].iloc[0], "quantity"].astype(str)
    numbers = names.str.extract(r"^peak (\d+)$")[0].dropna().astype(int)
    return sorted({int(number) for number in numbers})


def signed(value: float, digits: int = 2) -> str:
    """A number with its sign, plus or minus."""
    text = significant(abs(value), digits)
    return text if text == "0" else f"{'+' if value > 0 else MINUS}{text}"
