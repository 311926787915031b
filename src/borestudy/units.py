"""Quantities as a workshop writes them, into SI: the only place where units are known.

A quantity is a number and a unit (``3.66 mm``, ``9/64 in``, ``144 thou``, ``25 degC``); a length
may also be a drill size (``drill 27``, ``drill F``, ``drill 9/64``).  Conversion is done in exact
decimal arithmetic, so ``0.144 in`` and ``3.6576 mm`` give the same floating-point number.
"""

import math
import re
from dataclasses import dataclass, field
from fractions import Fraction

from borestudy.drills import DRILL_SIZES, drill_diameter, is_workshop_fraction


class UnitError(ValueError):
    """A text that is not the quantity asked for: what was found and is allowed, and an example.

    A key that allows less puts its own example in its place.
    """

    def __init__(self, reason: str, example: str) -> None:
        super().__init__(f"{reason}, for example {example}")
        self.reason = reason
        self.example = example


@dataclass(frozen=True)
class Kind:
    """A kind of quantity and the ways it may be written, for the parser and for messages.

    ``factors`` are to SI, by each unit as written; ``offsets`` are the SI values of units' zeros,
    where not zero; ``others`` is what else is allowed beside a number with a unit.
    """

    word: str
    factors: dict[str, Fraction]
    shown: str
    example: str
    offsets: dict[str, Fraction] = field(default_factory=dict)
    others: str = ""

    @property
    def allowed(self) -> str:
        """The allowed ways of writing, in words."""
        return f"{self.word} with a unit ({self.shown}){self.others}"


def _units(spellings: dict[str, str]) -> dict[str, Fraction]:
    """Every spelling of the units that have a factor, with that factor."""
    return {unit: Fraction(number) for number, words in spellings.items() for unit in words.split()}


LENGTH = Kind(
    "a length",
    _units(
        {
            "0.001": "mm",
            "0.01": "cm",
            "1": "m",
            "0.000001": "um µm μm micron microns",
            "0.0254": 'in inch inches "',
            "0.0000254": "thou mil mils",
        }
    ),
    "mm, cm, m, in, thou",
    "3.66 mm",
    others=" or a drill size (drill 80 to drill 1, drill A to drill Z, drill 9/64)",
)
TEMPERATURE = Kind(
    "a temperature",
    _units({"1": "degC °C C K", "5/9": "degF °F F"}),
    "degC, K, degF",
    "25 degC",
    offsets=_units({"273.15": "degC °C C", "45967/180": "degF °F F"}),
)
FLOW_RATE = Kind(
    "a flow rate",
    _units(
        {
            "0.001": "L/s l/s",
            "0.000001": "mL/s ml/s cm³/s cm3/s cm^3/s cc/s ccm/s",
            "1/60000": "L/min l/min",
            "1": "m³/s m3/s m^3/s",
        }
    ),
    "L/s, mL/s, cm³/s, L/min, m³/s",
    "0.05 L/s",
)
FREQUENCY = Kind("a frequency", _units({"1": "Hz", "1000": "kHz"}), "Hz, kHz", "50 Hz")
#: A bare number is refused, since 0.5 might mean either a half or half a percent.
SHARE = Kind("a share", _units({"1/100": "% percent"}), "%", "50 %")
PRESSURE = Kind(
    "a pressure",
    _units({"1": "Pa", "100": "hPa mbar", "1000": "kPa", "100000": "bar"}),
    "Pa, hPa, kPa, mbar, bar",
    "101.325 kPa",
)
#: Ratios of two frequencies are no shares: 100 cents are an equal-tempered semitone.
CENTS = Kind("a number of cents", _units({"1": "cents cent ct"}), "cents", "2 cents")
VOLUME = Kind(
    "a volume",
    _units({"0.000001": "cm³ cm3 cm^3 mL ml cc", "0.000000001": "mm³ mm3 mm^3"}),
    "cm³, mL, mm³",
    "1.2 cm³",
)
RESISTANCE = Kind(
    "a flow resistance",
    _units({"1000000": "kPa·s/L kPa*s/L kPas/L kPa/(L/s)", "1": "Pa·s/m³ Pa*s/m3 Pa·s/m3"}),
    "kPa·s/L, Pa·s/m³",
    "0.5 kPa·s/L",
)
IMPEDANCE = Kind(
    "an impedance",
    _units({"1": "Pa·s/m³ Pa*s/m3 Pa·s/m3", "1000000": "MPa·s/m³ MPa*s/m3 MPa·s/m3"}),
    "Pa·s/m³, MPa·s/m³",
    "4e7 Pa·s/m³",
)
SPEED = Kind("a velocity", _units({"1": "m/s", "0.01": "cm/s"}), "m/s, cm/s", "20 m/s")
MASS_PER_AREA = Kind(
    "a mass per area",
    _units({"1": "kg/m² kg/m2 kg/m^2", "10": "g/cm² g/cm2 g/cm^2"}),
    "kg/m², g/cm²",
    "2 kg/m²",
)
# The factor is to degrees; parse_angle goes on to radians, which no fraction can hold.
ANGLE = Kind("an angle", _units({"1": "deg degrees °"}), "deg", "45 deg")

#: Characters of a value that a message shows.
LONGEST_SHOWN = 80

_NUMBER = r"[+-]?(?:\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_QUANTITY = re.compile(rf"({_NUMBER})\s*(\D.*|)", re.DOTALL)
_DRILL = re.compile(
    r"drill\s*(?:(?:no\.?|number|letter|size)\s*)?#?\s*(\d+/\d+|\d+|[a-z]+|)\s*(?:in)?",
    re.IGNORECASE,
)


def parse_length(text: object) -> float:
    """Length in metres of ``3.66 mm``, ``0.144 in``, ``144 thou`` or ``drill 27``.

    Raises
    ------
    UnitError
        If the text is not a length.

    Examples
    --------
    >>> parse_length("drill 27")
    0.0036576
    """
    name = drill_name(text)
    return parse(text, LENGTH) if name is None else drill_diameter(name)


def parse_angle(text: object) -> float:
    """Angle in radians of ``45 deg``."""
    return math.radians(parse(text, ANGLE))


def quoted(value: object) -> str:
    """A found value as messages show it: in quotes if a text, and cut if long."""
    try:
        shown = repr(value)
    except ValueError:  # Python writes out no whole number of more than 4300 digits
        return "a number of thousands of digits"
    return shown if len(shown) <= LONGEST_SHOWN else f"{shown[: LONGEST_SHOWN - 4]} ..."


def split_list(text: str) -> list[str]:
    """Entries of a list written with one unit: ``0.05, 0.1 L/s`` is ``0.05 L/s`` and ``0.1 L/s``.

    Brackets around the numbers are allowed (``[0.05, 0.1] L/s``); an entry that has its own unit
    keeps it.
    """
    entries = [entry.strip() for entry in re.sub(r"[\[\]]", "", text).split(",")]
    last = split_number(entries[-1])
    if last is None or not last[1]:
        return entries
    return [
        f"{entry} {last[1]}" if split_number(entry) == (entry, "") else entry for entry in entries
    ]


def split_number(text: str) -> tuple[str, str] | None:
    """Number and unit of a quantity as written, or None where there is no number in front."""
    match = _QUANTITY.fullmatch(text.strip())
    return (match[1], match[2].strip()) if match else None


def drill_name(text: object) -> str | None:
    """The size in a text like ``drill #27``, as ``27``, ``F`` or ``9/64``; None if not a drill.

    Raises
    ------
    UnitError
        If the text speaks of a drill that is not in the standard.
    """
    if not isinstance(text, str) or not text.strip().lower().startswith("drill"):
        return None
    match = _DRILL.fullmatch(text.strip())
    name = match[1].upper() if match else ""
    if name in DRILL_SIZES or ("/" in name and is_workshop_fraction(name)):
        return name
    # Of an unquoted `drill #27` YAML leaves the word alone.
    alone = text.strip().lower() == "drill"
    hint = ", where # begins a comment in YAML unless quoted" if alone else ""
    raise UnitError(
        f"found {quoted(text)}{hint}; allowed is a drill number 1 to 80, a letter A to Z "
        "(drill F; both ASME B94.11M) or a fraction of an inch up to 3 in (drill 9/64)",
        "drill 27",
    )


def parse(text: object, kind: Kind) -> float:
    """Value in SI of a number with one of the kind's units: 298.15 of ``25 degC``."""
    found = split_number(text) if isinstance(text, str) else None
    if isinstance(text, int | float) and not isinstance(text, bool):
        found = (str(text), "")
    if found is None or found[1] not in kind.factors:
        raise UnitError(
            f"found {quoted(text)}{_complaint(found)}; allowed is {kind.allowed}", kind.example
        )
    number, unit = found
    try:
        return float(Fraction(number) * kind.factors[unit] + kind.offsets.get(unit, 0))
    except (ZeroDivisionError, OverflowError, ValueError) as problem:
        what = "a division by zero" if isinstance(problem, ZeroDivisionError) else "too long"
        raise UnitError(
            f"found {quoted(text)}, {what}; allowed is {kind.allowed}", kind.example
        ) from None


def _complaint(found: tuple[str, str] | None) -> str:
    if found is None:
        return ""
    _, unit = found
    if not unit:
        return ", a number without a unit"
    if re.match(r",\s*\d", unit):
        return ", whose decimal sign is a comma and not a point"
    return f", whose unit {quoted(unit)} is not known here"
