"""Quantities as a workshop writes them, into SI: the only place where units are known.

A quantity is a number and a unit (``3.66 mm``, ``9/64 in``, ``144 thou``, ``25 degC``); a length
may also be a drill size (``drill 27``, ``drill F``, ``drill 9/64``).  Conversion is done in exact
decimal arithmetic, so ``0.144 in`` and ``3.6576 mm`` give the same floating-point number.

References
----------
ASME B94.11M-1993 (R2014), Twist Drills, Table 1: number sizes 80 to 1 and letter sizes A to Z.
"""

import math
import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache


class UnitError(ValueError):
    """A text that is not the quantity asked for; the message says what was found and allowed."""


@dataclass(frozen=True)
class Kind:
    """What a kind of quantity may be written as.

    Attributes
    ----------
    word : str
        For messages: "a length".
    factors : dict
        Unit as written to its factor to SI.
    shown : tuple of str
        The units named in messages.
    example : str
        For messages.
    offsets : dict
        Unit to the SI value of its zero, where that is not zero.
    others : str
        What else is allowed beside a number with a unit, for messages.
    """

    word: str
    factors: dict[str, Fraction]
    shown: tuple[str, ...]
    example: str
    offsets: dict[str, Fraction] = field(default_factory=dict)
    others: str = ""

    @property
    def allowed(self) -> str:
        """What may be written, in words."""
        return f"{self.word} with a unit ({', '.join(self.shown)}){self.others}"


def _factors(**named: str) -> dict[str, Fraction]:
    return {unit: Fraction(factor) for unit, factor in named.items()}


_INCH = Fraction("0.0254")

LENGTH = Kind(
    word="a length",
    factors=_factors(mm="0.001", cm="0.01", m="1", um="0.000001")
    | {unit: Fraction("0.000001") for unit in ("µm", "μm", "micron", "microns")}
    | {unit: _INCH for unit in ("in", "inch", "inches", '"')}
    | {unit: _INCH / 1000 for unit in ("thou", "mil", "mils")},
    shown=("mm", "cm", "m", "in", "thou"),
    example="3.66 mm",
    others=" or a drill size (drill 80 to drill 1, drill A to drill Z, drill 9/64)",
)
TEMPERATURE = Kind(
    word="a temperature",
    factors={unit: Fraction(1) for unit in ("degC", "°C", "C", "K")}
    | {unit: Fraction(5, 9) for unit in ("degF", "°F", "F")},
    shown=("degC", "K", "degF"),
    example="25 degC",
    offsets={unit: Fraction("273.15") for unit in ("degC", "°C", "C")}
    | {unit: Fraction("459.67") * 5 / 9 for unit in ("degF", "°F", "F")},
)
FLOW_RATE = Kind(
    word="a flow rate",
    factors={unit: Fraction("0.001") for unit in ("L/s", "l/s")}
    | {
        unit: Fraction("0.000001")
        for unit in ("mL/s", "ml/s", "cm³/s", "cm3/s", "cm^3/s", "cc/s", "ccm/s")
    }
    | {unit: Fraction(1, 60000) for unit in ("L/min", "l/min")}
    | {unit: Fraction(1) for unit in ("m³/s", "m3/s", "m^3/s")},
    shown=("L/s", "mL/s", "cm³/s", "L/min", "m³/s"),
    example="0.05 L/s",
)
FREQUENCY = Kind(
    word="a frequency", factors=_factors(Hz="1", kHz="1000"), shown=("Hz", "kHz"), example="50 Hz"
)
SHARE = Kind(
    word="a share",
    factors={unit: Fraction(1, 100) for unit in ("%", "percent")},
    shown=("%",),
    example="50 %",
)
PRESSURE = Kind(
    word="a pressure",
    factors=_factors(Pa="1", hPa="100", mbar="100", kPa="1000", bar="100000"),
    shown=("Pa", "hPa", "kPa", "mbar", "bar"),
    example="101.325 kPa",
)
ANGLE = Kind(
    # The factor is to degrees; parse_angle goes on to radians, which no fraction can hold.
    word="an angle",
    factors={unit: Fraction(1) for unit in ("deg", "degrees", "°")},
    shown=("deg",),
    example="45 deg",
)

#: Characters of a value that a message shows.
LONGEST_SHOWN = 80

_NUMBER = r"[+-]?(?:\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_QUANTITY = re.compile(rf"({_NUMBER})\s*(\D.*|)", re.DOTALL)
_DRILL = re.compile(
    r"drill\s*(?:(?:no\.?|number|letter|size)\s*)?#?\s*(\d+/\d+|\d+|[a-z]+|)\s*(?:in)?",
    re.IGNORECASE,
)

# fmt: off
_NUMBER_DRILLS = (  # number 1 first, inch
    ".2280 .2210 .2130 .2090 .2055 .2040 .2010 .1990 .1960 .1935 "
    ".1910 .1890 .1850 .1820 .1800 .1770 .1730 .1695 .1660 .1610 "
    ".1590 .1570 .1540 .1520 .1495 .1470 .1440 .1405 .1360 .1285 "
    ".1200 .1160 .1130 .1110 .1100 .1065 .1040 .1015 .0995 .0980 "
    ".0960 .0935 .0890 .0860 .0820 .0810 .0785 .0760 .0730 .0700 "
    ".0670 .0635 .0595 .0550 .0520 .0465 .0430 .0420 .0410 .0400 "
    ".0390 .0380 .0370 .0360 .0350 .0330 .0320 .0310 .0292 .0280 "
    ".0260 .0250 .0240 .0225 .0210 .0200 .0180 .0160 .0145 .0135"
)
_LETTER_DRILLS = (  # A first, inch
    ".234 .238 .242 .246 .250 .257 .261 .266 .272 .277 .281 .290 .295 "
    ".302 .316 .323 .332 .339 .348 .358 .368 .377 .386 .397 .404 .413"
)
# fmt: on

#: Diameter in inches of each number and letter size, as the standard prints it.
DRILL_SIZES: dict[str, str] = {
    str(number): "0" + size for number, size in enumerate(_NUMBER_DRILLS.split(), start=1)
} | {chr(ord("A") + index): "0" + size for index, size in enumerate(_LETTER_DRILLS.split())}


def parse_length(text: object) -> float:
    """Length in metres of ``3.66 mm``, ``0.144 in``, ``144 thou`` or ``drill 27``.

    Parameters
    ----------
    text : str
        A number with a unit, or a drill size.

    Returns
    -------
    float
        [m]

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
    if name is None:
        return _parse(text, LENGTH)
    return float(Fraction(DRILL_SIZES.get(name, name)) * _INCH)


def parse_temperature(text: object) -> float:
    """Absolute temperature in kelvin of ``25 degC``, ``298.15 K`` or ``77 degF``."""
    return _parse(text, TEMPERATURE)


def parse_flow_rate(text: object) -> float:
    """Volume flow in m³/s of ``0.3 L/s``, ``300 mL/s`` or ``300 cm³/s``."""
    return _parse(text, FLOW_RATE)


def parse_frequency(text: object) -> float:
    """Frequency in hertz of ``50 Hz`` or ``5 kHz``."""
    return _parse(text, FREQUENCY)


def parse_share(text: object) -> float:
    """Fraction of one of ``50 %``; a bare number is refused, since 0.5 might mean either."""
    return _parse(text, SHARE)


def parse_pressure(text: object) -> float:
    """Pressure in pascal of ``101.325 kPa`` or ``1013.25 hPa``."""
    return _parse(text, PRESSURE)


def parse_angle(text: object) -> float:
    """Angle in radians of ``45 deg``."""
    return math.radians(_parse(text, ANGLE))


def quoted(value: object) -> str:
    """What was found, as messages show it: in quotes if a text, and cut if long."""
    shown = repr(value)
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
    return [f"{entry} {last[1]}" if _is_bare_number(entry) else entry for entry in entries]


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
    if "/" in name and _is_workshop_fraction(name):
        return name
    if name in DRILL_SIZES:
        return name
    # Of an unquoted `drill #27` YAML leaves the word alone.
    alone = text.strip().lower() == "drill"
    hint = ", where # begins a comment in YAML unless quoted" if alone else ""
    raise UnitError(
        f"found {text!r}{hint}; allowed is a drill number 1 to 80, a letter A to Z "
        "(ASME B94.11M) or a fraction of an inch, for example drill 27, drill F or drill 9/64"
    )


def nearest_drill(diameter: float) -> tuple[str, float] | None:
    """The drill nearest to a diameter [m], with its own [m]; None beyond the sizes there are.

    A number or letter where it is as near as a fraction.
    """
    name, size = min(_all_drills().items(), key=lambda drill: abs(drill[1] - diameter))
    within = float(_INCH / 128)
    return (f"drill {name}", size) if abs(size - diameter) <= within else None


@cache
def _all_drills() -> dict[str, float]:
    """Diameter of each size [m], numbers and letters first."""
    fractions = [f"{Fraction(count, 64)}" for count in range(1, 193) if count % 64]
    return {name: parse_length(f"drill {name}") for name in [*DRILL_SIZES, *fractions]}


def _is_workshop_fraction(name: str) -> bool:
    above, below = (int(part) for part in name.split("/"))
    return below in (2, 4, 8, 16, 32, 64) and 0 < above <= 3 * below


def _is_bare_number(text: str) -> bool:
    split = split_number(text)
    return split is not None and not split[1]


def _parse(text: object, kind: Kind) -> float:
    """Value in SI of a number with one of the kind's units."""
    found = split_number(text) if isinstance(text, str) else None
    if isinstance(text, int | float) and not isinstance(text, bool):
        found = (str(text), "")
    if found is None or found[1] not in kind.factors:
        raise UnitError(
            f"found {text!r}{_complaint(found)}; allowed is {kind.allowed}, "
            f"for example {kind.example}"
        )
    number, unit = found
    try:
        value = Fraction(number)
    except ZeroDivisionError:
        raise UnitError(
            f"found {text!r}, a division by zero; allowed is {kind.allowed}, "
            f"for example {kind.example}"
        ) from None
    return float(value * kind.factors[unit] + kind.offsets.get(unit, 0))


def _complaint(found: tuple[str, str] | None) -> str:
    if found is None:
        return ""
    _, unit = found
    if not unit:
        return ", a number without a unit"
    if re.match(r",\s*\d", unit):
        return ", whose decimal sign is a comma and not a point"
    return f", whose unit {unit!r} is not known here"
