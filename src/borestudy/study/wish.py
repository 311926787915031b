"""A wish: how a bore's figures shall change, what shall stay, and which dimensions may move."""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator

from borestudy import units
from borestudy.study.models import Section, setting
from borestudy.study.quantity_names import Named

#: How near a wish must be met where it does not say, by the unit of its change.
NEAR = {"cents": 1.0, "percent": 0.5}
_WITHIN = " within "
_FREE = "{throat.diameter: {from: drill 28, to: drill 22, sizes: drill}}"


def _text(value: Any) -> Any:
    if value is None or isinstance(value, bool | dict | list):
        raise ValueError(f"found {units.quoted(value)}; allowed is a text, for example 10.8 mm")
    return " ".join(str(value).split())


Text = Annotated[str, BeforeValidator(_text)]


def _texts(value: Any) -> Any:
    if not isinstance(value, dict):
        raise ValueError(
            f"found {units.quoted(value)}; allowed is a mapping from quantities to texts, "
            'for example {resonance: "+15 cents"}'
        )
    return value


Wishes = Annotated[dict[str, Text], BeforeValidator(_texts)]


class FreeDimension(Section):
    """A dimension that may move: between which limits, and on which tool sizes."""

    from_: Text | None = setting(
        "a length or drill size, or a number for a shape: lower limit, by default a tenth below "
        "what the dimension is (of a shape 0.2)",
        "9 mm",
        default=None,
        alias="from",
    )
    to: Text | None = setting(
        "a length or drill size, or a number for a shape: upper limit, by default a tenth above "
        "what the dimension is (of a shape 0.2)",
        "12 mm",
        default=None,
    )
    sizes: Text = setting(
        "any; drill for the number and letter drills; or a step, such as 0.1 mm, of whose "
        "multiples the dimension must be one",
        "drill",
        default="any",
    )


def _free(value: Any) -> Any:
    if not isinstance(value, dict) or not value:
        raise ValueError(
            f"found {units.quoted(value)}, and so no dimension that may move; allowed is a mapping "
            f"from dimensions to their limits, for example {_FREE}"
        )
    return {key: {} if entry is None else entry for key, entry in value.items()}


class Wish(Section):
    """What shall become of the study's first bore."""

    change: Wishes = setting(
        "a mapping from quantities to changes: cents of a resonance or peak, % of all others",
        '{resonance: "+15 cents"}',
        default_factory=dict,
    )
    reach: Wishes = setting(
        "a mapping from quantities to the values that they shall reach",
        "{resonance: 900 Hz}",
        default_factory=dict,
    )
    keep: Wishes = setting(
        "a mapping from quantities to how far they may change",
        "{cup volume: within 1 %}",
        default_factory=dict,
    )
    free: Annotated[dict[str, FreeDimension], BeforeValidator(_free)] = setting(
        "a mapping from dimensions that may move to their limits", _FREE
    )
    bore: Literal["new", "existing"] = setting(
        "new: the bore is still to be made; existing: it exists, so that its wall may lie nowhere "
        "farther in than now, and it may be shortened at the shank end",
        "existing",
        default="new",
    )


@dataclass(frozen=True)
class Wanted:
    """What a study wants of one quantity.

    Attributes
    ----------
    quantity : Named
    written : str
        What the study says of it.
    kind : {"change", "reach", "keep"}
    target : float
        Wanted change in cents or percent; the value to be reached, in SI; 0 for what is kept.
    within : float
        How near, in cents or percent.
    """

    quantity: Named
    written: str
    kind: Literal["change", "reach", "keep"]
    target: float
    within: float


@dataclass(frozen=True)
class Free:
    """A dimension that may move between two limits [SI], on sizes with their words if any."""

    key: str
    low: float
    high: float
    sizes: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Asked:
    """A wish with the values that its texts stand for."""

    wanted: tuple[Wanted, ...]
    free: tuple[Free, ...]
    existing: bool


def parse_wanted(quantity: Named, kind: str, text: str) -> Wanted:
    """What a text wants of a quantity; `UnitError` where it is not understood."""
    scale = quantity.scale
    unit = units.CENTS if scale == "cents" else units.SHARE
    per, example = (1.0, "15 cents") if scale == "cents" else (100.0, "10 %")
    if kind == "keep":
        within = per * units.parse(text.removeprefix("within "), unit)
        if not within > 0:
            words = f"found {units.quoted(text)}; allowed is {unit.word} above zero"
            raise units.UnitError(words, "within 2 cents" if scale == "cents" else "within 1 %")
        return Wanted(quantity, text, "keep", 0.0, within)
    wish, _, near = text.partition(_WITHIN)
    within = per * units.parse(near, unit) if near else NEAR[scale]
    if not within > 0:
        words = f"found {units.quoted(text)}; allowed behind 'within' is {unit.word} above zero"
        raise units.UnitError(words, f"+{example} within {'2 cents' if per == 1 else '1 %'}")
    if kind == "change":
        return _change(quantity, text, wish, within)
    if quantity.kind is None:
        target = _number(wish, "a number above zero", "1.9")
    else:
        target = units.parse(wish, quantity.kind)
    if not target > 0:
        words = f"found {units.quoted(text)}; allowed is a value above zero"
        raise units.UnitError(words, quantity.kind.example if quantity.kind else "1.9")
    return Wanted(quantity, text, "reach", target, within)


def example_of_wish(quantity: Named, kind: str) -> str:
    """What a study may want of a quantity, for messages."""
    cents = quantity.scale == "cents"
    if kind == "keep":
        return "within 2 cents" if cents else "within 1 %"
    if kind == "change":
        return "+15 cents" if cents else "-10 %"
    return "900 Hz" if cents else quantity.kind.example if quantity.kind else "1.9"


def _change(quantity: Named, text: str, wish: str, within: float) -> Wanted:
    cents = quantity.scale == "cents"
    try:
        target = units.parse(wish, units.CENTS) if cents else 100 * units.parse(wish, units.SHARE)
    except units.UnitError:
        example = "+15 cents" if cents else "-10 %"
        unit = "cents" if cents else "%"
        raise units.UnitError(
            f"found {units.quoted(text)}; allowed is a change of {quantity.name} in {unit} (a "
            "value to be reached stands under wish.reach)",
            example,
        ) from None
    low, high = (-2400.0, 2400.0) if cents else (-90.0, 900.0)
    if not low <= target <= high:
        unit, example = ("cents", "+15 cents") if cents else ("%", "-10 %")
        words = f"found {units.quoted(text)}; allowed is a change from {low:g} to {high:g} {unit}"
        raise units.UnitError(words, example)
    return Wanted(quantity, text, "change", target, within)


def _number(text: str, allowed: str, example: str) -> float:
    try:
        return float(text)
    except ValueError:
        words = f"found {units.quoted(text)}; allowed is {allowed}"
        raise units.UnitError(words, example) from None
