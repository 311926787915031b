"""Values, units and tolerances of claims: what is written, in the unit of results."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from borestudy import units
from borestudy.intervals import ratio_of_cents
from borestudy.study.quantity_names import IN_RESULTS, Named
from borestudy.units import quoted, split_number

#: Kind, factor to the unit of results, and an example of a change, by the scale of its quantity.
CHANGES = {
    "cents": (units.CENTS, 1.0, "-15 cents"),
    "percent": (units.SHARE, 100.0, "-5 %"),
}
UNITS_IN_RESULTS = {**IN_RESULTS, units.SPEED.word: (1.0, "m_per_s")}


class Refused(ValueError):
    """A cell that is no part of a claim: its column, and the rest of the message."""

    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column


@dataclass(frozen=True)
class Scale:
    """How a claimed quantity is written: the quantity, and whether its change is claimed."""

    quantity: Named
    is_change: bool

    @property
    def kind(self) -> units.Kind | None:
        """What the value must be; None of a pure number."""
        return CHANGES[self.quantity.scale][0] if self.is_change else self.quantity.kind

    @property
    def unit(self) -> str:
        """Unit of results."""
        if self.is_change:
            return self.quantity.scale
        return "" if self.kind is None else UNITS_IN_RESULTS[self.kind.word][1]

    @property
    def example(self) -> str:
        """A value with its unit."""
        if self.is_change:
            return CHANGES[self.quantity.scale][2]
        return "1.9" if self.kind is None else self.kind.example

    def in_results(self, number: str, unit: str, column: str) -> float:
        """A number in a unit as the number of the unit of results; `Refused` at the column."""
        if self.kind is None:
            if unit:
                allowed = f"allowed is no unit, since {self.quantity.name} is a pure number"
                raise Refused("unit", f"found {quoted(unit)}; {allowed}, for example {number}")
            return float(units.parse(f"{number} cents", units.CENTS))  # exact, as other numbers
        if not unit:
            raise Refused(
                "unit",
                f"missing; needed is a unit of {self.kind.word} ({self.kind.shown}), for example "
                f"{(split_number(self.example) or ('', self.kind.shown))[1]}",
            )
        try:
            value = units.parse(f"{number} {unit}", self.kind)
        except units.UnitError as problem:
            given = "unit" if unit not in self.kind.factors else column
            allowed = f"allowed is {self.kind.allowed.partition(' or a drill')[0]}"
            found = quoted(unit) if given == "unit" else quoted(number)
            raise Refused(
                given, f"found {found}; {allowed}, for example {problem.example}"
            ) from None
        if self.is_change:
            return value * CHANGES[self.quantity.scale][1]
        return value * UNITS_IN_RESULTS[self.kind.word][0]


def written_value(cells: Mapping[str, Any], scale: Scale) -> tuple[str, str]:
    """Number and unit as written: the unit stands in its column or behind the number."""
    text, unit = str(cells["value"]).strip(), str(cells.get("unit", "")).strip()
    found = split_number(text.replace("−", "-"))
    known = set() if scale.kind is None else set(scale.kind.factors)
    if (
        found is None
        or isinstance(cells["value"], bool)
        or (unit and found[1] not in {"", unit, *known})
    ):
        allowed = "a number" if scale.kind is None else f"{scale.kind.word} as a number"
        raise Refused(
            "value",
            f"found {quoted(cells['value'])}; allowed is {allowed}, for example {scale.example}",
        )
    number, behind = found
    if unit and behind and unit != behind:
        raise Refused(
            "unit",
            f"found {quoted(unit)} beside a value in {behind}; allowed is one unit, for example "
            f"{behind}",
        )
    if number.endswith("/0"):
        raise Refused("value", f"found {quoted(text)}; allowed is a number, for example 1/2")
    return number, behind or unit


def tolerance_of(
    cells: Mapping[str, Any], value: float, number: str, unit: str, scale: Scale
) -> tuple[float, str]:
    """Tolerance in the unit of results, and whether it is stated or half of the last digit.

    Parameters
    ----------
    cells : mapping
        The claim's texts.
    value : float
        What is claimed, in the unit of results.
    number, unit : str
        The same as written.
    scale : Scale
        How the quantity is written.
    """
    half = f"{last_digit(number) / 2:.3e}"
    if "tolerance" not in cells:
        return abs(scale.in_results(half, unit, "value")), "last digit"
    found = split_number(str(cells["tolerance"]).strip().lstrip("±").strip())
    result = math.nan
    if found is not None and not isinstance(cells["tolerance"], bool):
        try:
            result = _tolerance(*found, value, unit, scale)
        except (Refused, units.UnitError):
            result = math.nan
    if not 0 < result < math.inf:
        example = f"{last_digit(number):g} {unit}".strip()
        shares = "" if scale.is_change else "a share of the value, or "
        raise Refused(
            "tolerance",
            f"found {quoted(cells['tolerance'])}; allowed is {shares}a number above zero with a "
            f"unit of the value, for example {example if scale.is_change or value == 0 else '2 %'}",
        )
    return result, "stated"


def _tolerance(number: str, written: str, value: float, unit: str, scale: Scale) -> float:
    if not scale.is_change and written in units.SHARE.factors:
        return abs(value) * units.parse(f"{number} %", units.SHARE)
    if not scale.is_change and scale.quantity.scale == "cents" and written in units.CENTS.factors:
        cents = units.parse(f"{number} cents", units.CENTS)
        return abs(value) * float(ratio_of_cents(cents) - 1)
    return scale.in_results(number, written or unit, "tolerance")


def last_digit(number: str) -> float:
    """The unit of a number's last digit: 0.1 of 811.7, 1 of 812 and of 3/4."""
    plain, _, exponent = number.lower().partition("e")
    decimals = len(plain.partition(".")[2])
    return float(10.0 ** (int(exponent or 0) - decimals))
