"""Numbers as a reader sees them: the digits follow the uncertainty.

The rounding is the usual one of metrology: an uncertainty is given with one significant digit, two
if the first is a 1, and the value ends at the same decimal place (the Guide to the Expression of
Uncertainty in Measurement, JCGM 100:2008, 7.2.6, asks for "at most two significant digits").
"""

import math
from typing import Any

MINUS = "−"
NO_VALUE = "none"


def is_missing(value: Any) -> bool:
    """Tell whether a cell holds nothing: None, an empty text, NaN or pandas' NA."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return True
    try:
        return not math.isfinite(float(value))
    except ValueError:
        return False
    except TypeError:  # pandas' NA refuses to become a float
        return str(value) in ("<NA>", "NaT")


def _decimals(uncertainty: float) -> int:
    """Decimal places (negative: tens, hundreds) at which a number with this uncertainty ends."""
    exponent = math.floor(math.log10(uncertainty))
    # 0.0096 rounds up to 0.010: the digits follow the rounded uncertainty, not the raw one.
    leading = round(uncertainty / 10.0**exponent, 6)
    if leading >= 9.5:
        exponent, leading = exponent + 1, 1.0
    return -exponent + (1 if leading < 1.95 else 0)


def _fixed(value: float, decimals: int) -> str:
    rounded = round(value, decimals)
    text = f"{abs(rounded):.{max(decimals, 0)}f}"
    return MINUS + text if rounded < 0 else text


def significant(value: float, digits: int = 4) -> str:
    """Write a number that has no uncertainty of its own (an input, a name plate) with `digits`."""
    if not math.isfinite(value):
        return NO_VALUE
    if value == 0:
        return "0"
    exponent = math.floor(math.log10(abs(value)))
    if -4 <= exponent < 6:
        text = _fixed(value, digits - 1 - exponent)
        return text.rstrip("0").rstrip(".") if "." in text else text
    mantissa = significant(value / 10.0**exponent, digits)
    if mantissa.lstrip(MINUS) == "10":
        mantissa, exponent = mantissa.replace("10", "1"), exponent + 1
    return f"{mantissa} × 10{superscript(exponent)}"


def superscript(exponent: int) -> str:
    """Write an integer exponent in raised digits."""
    return str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def with_uncertainty(value: Any, uncertainty: Any, unit: str = "") -> str:
    """Write 'value ± uncertainty' with the digits the uncertainty allows, and the unit after it.

    A value without a known uncertainty says so instead of standing bare; an uncertainty of exactly
    zero (a case against itself) leaves the value alone.

    >>> with_uncertainty(1.23391, 0.0049)
    '1.234 ± 0.005'
    """
    if is_missing(value):
        return NO_VALUE
    number, unit = float(value), unit and f" {unit}"
    if is_missing(uncertainty):
        return f"{significant(number)}{unit} (uncertainty unknown)"
    width = abs(float(uncertainty))
    if width == 0:
        return significant(number, 6) + unit
    scale = math.floor(math.log10(max(abs(number), width)))
    if -4 <= scale < 6:
        decimals = _decimals(width)
        return f"{_fixed(number, decimals)} ± {_fixed(width, decimals)}{unit}"
    factor = 10.0**scale
    decimals = _decimals(width / factor)
    inner = f"{_fixed(number / factor, decimals)} ± {_fixed(width / factor, decimals)}"
    return f"({inner}) × 10{superscript(scale)}{unit}"


def in_short(value: Any, uncertainty: Any, unit: str = "") -> str:
    """Write a number for a sentence: three digits, with its uncertainty where that is seen in them.

    >>> in_short(0.14457, 0.00015, "cents"), in_short(4.0, 0.1, "cents")
    ('0.145 cents', '4.00 ± 0.10 cents')
    """
    if is_missing(value) or is_missing(uncertainty):
        return with_uncertainty(value, uncertainty, unit)
    number, width = float(value), abs(float(uncertainty))
    digit = 10.0 ** (math.floor(math.log10(abs(number))) - 2) if number else 0.0
    if width < digit:
        return f"{significant(number, 3)} {unit}".rstrip()
    return with_uncertainty(number, width, unit)


def with_sides(value: Any, below: Any, above: Any, unit: str = "") -> str:
    """Write 'value ± error', or 'value +above/−below' where the two sides are not alike.

    >>> with_sides(262.0, 13.0, 41.0, "Pa")
    '262 +41/−13 Pa'
    """
    if is_missing(value) or is_missing(below) or is_missing(above) or min(below, above) <= 0:
        return with_uncertainty(value, above, unit)
    low, high = float(below), float(above)
    decimals = min(_decimals(min(low, high)), _decimals(max(low, high)) + 1)
    ends = _fixed(low, decimals), _fixed(high, decimals)
    if ends[0] == ends[1]:
        return with_uncertainty(value, max(low, high), unit)
    text = f"{_fixed(float(value), decimals)} +{ends[1]}/{MINUS}{ends[0]}"
    return f"{text} {unit}".rstrip()


def with_both_errors(value: Any, numerical: Any, below: Any, above: Any) -> str:
    """Write 'value ± numerical ± model error'.

    The model's error is how far below and above the value the truth may lie; where these two are
    not alike they are written '+above/−below'.  One that is not known says so.

    >>> with_both_errors(262.0, 3.0, 31.0, 31.0)
    '262 ± 3 ± 30'
    >>> with_both_errors(262.0, 3.0, 13.0, 41.0)
    '262 ± 3 +41/−13'
    """
    text = with_uncertainty(value, numerical)
    if is_missing(value):
        return text
    if is_missing(below) or is_missing(above):
        return f"{text} (model error unknown)"
    if (greatest := max(float(below), float(above))) <= 0:
        return f"{text} ± 0"
    least = min(float(below), float(above)) or greatest
    decimals = min(_decimals(least), _decimals(greatest) + 1)
    low, high = (_fixed(float(side), decimals) for side in (below, above))
    return f"{text} ± {high}" if low == high else f"{text} +{high}/{MINUS}{low}"
