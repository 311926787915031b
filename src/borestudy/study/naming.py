"""Names of cases and table columns from what the study says, not from floating-point numbers."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from borestudy.bore.dimensions import TAPERS
from borestudy.study.quantities import AS_MEASURED
from borestudy.units import drill_name, split_number

#: Unit of a varied quantity in tables, how many of it are one of SI, and its zero in SI.
_COLUMNS = {
    "air.temperature": ("degC", 1.0, 273.15),
    "air.relative_humidity": ("percent", 100.0, 0.0),
    "air.pressure": ("kPa", 1e-3, 0.0),
} | dict.fromkeys(
    ("length", "cup.diameter", "cup.depth", "throat.diameter", "throat.length",
     "backbore.end_diameter", "uncertainty", "position_uncertainty", "common_uncertainty",
     "smoothing"),
    ("mm", 1e3, 0.0))  # fmt: skip
_UNIT_SLUGS = {
    "°C": "degC", "C": "degC", "°F": "degF", "F": "degF", "%": "percent", '"': "in",
    "inch": "in", "inches": "in", "mil": "thou", "mils": "thou", "micron": "um",
    "microns": "um", "µm": "um", "μm": "um",
}  # fmt: skip
# Written out to this many decimals at least, so that names line up and sort in a listing.
_DECIMALS = {"mm": 2, "cm": 3, "in": 3, "": 2}


def stem(key: str) -> str:
    """Name of a varied dimension: ``throat_diameter``, ``entry``, ``air_temperature``."""
    return "entry" if key == "throat.entry" else key.replace(".", "_")


def name_part(key: str, value: Any) -> str:
    """One varied value's part in the name of a case, of letters, digits and ``._-`` only.

    The dotted key is one inside the bore, or ``air.…``.

    Examples
    --------
    >>> name_part("throat.entry", "rounded 0.5 mm")
    'entry_radius-0.50mm'
    >>> name_part("throat.diameter", "drill #27")
    'throat_diameter-drill27'
    """
    if key == "throat.entry":
        return _entry_part(str(value))
    return f"{stem(key)}-{_slug(key, value)}"


#: How a reader is told a varied dimension, by its dotted key; the value is put into the braces.
_SAID = {
    "cup.diameter": "rim {} wide",
    "cup.depth": "cup {} deep",
    "throat.diameter": "throat {} wide",
    "throat.length": "throat {} long",
    "backbore.end_diameter": "backbore {} wide at its end",
    "air.temperature": "air at {}",
    "air.relative_humidity": "air of {} humidity",
    "air.pressure": "air at {}",
}
#: Values that have words of their own, by the dotted key; numbers as their shortest text.
_VALUES = {
    ("cup.shape", "0"): "cup straight cone",
    ("cup.shape", "1"): "cup full bowl",
    ("backbore.taper", "0"): "backbore straight",
    ("join", "straight"): "stations joined by straight lines",
    ("join", "smooth"): "stations joined smoothly",
}


def label(varied: Mapping[str, str]) -> str:
    """What tells a case from the others, from its values by their dotted keys.

    Examples
    --------
    >>> label({"length": "88 mm", "cup.depth": "10.7 mm"})
    'length 88 mm, cup 10.7 mm deep'
    >>> label({"throat.diameter": "drill 27", "throat.entry": "rounded 0.5 mm"})
    'throat drill 27, rounded 0.5 mm'
    """
    if not varied:
        return "the bore"
    return ", ".join(label_part(key, value) for key, value in varied.items())


def label_part(key: str, value: str) -> str:
    """One varied value in plain words, which say what it is of.

    Examples
    --------
    >>> label_part("cup.shape", "0.5")
    'cup 50 % bowl'
    """
    name = key.replace(".", " ").replace("_", " ")
    if key == "throat.entry":  # its words say what they are of
        return f"entry {value}" if value == AS_MEASURED else value
    if value == AS_MEASURED:
        return f"{name} {value}"
    if key == "stations":
        return re.sub(r"\.csv$", "", value, flags=re.IGNORECASE)
    number = split_number(value)
    if number is not None and not number[1] and "/" not in value:
        value = f"{float(value):g}"
        if key == "cup.shape" and value not in ("0", "1"):
            return f"cup {100 * float(value):g} % bowl"
    if (key, value) in _VALUES:
        return _VALUES[key, value]
    if key == "throat.diameter" and drill_name(value) is not None:
        return f"throat {value}"
    if key in _SAID and number is not None:
        return _SAID[key].format(value)
    return f"{name} {value}"


def columns(key: str, value: Any) -> dict[str, float | str | None]:
    """Table columns of one varied value, unit in the name; words stay words.

    A throat entry gives its words and, where it is square (0) or rounded, its radius; of one as it
    was measured no radius is known.
    """
    name = stem(key)
    if key == "throat.entry":
        shape, sizes = (entry.shape, entry.sizes) if (entry := value.value) else (AS_MEASURED, ())
        radius = {"square": 0.0, "rounded": 1e3 * (sizes or (0.0,))[0]}.get(shape)
        radius = None if radius is None else rounded(radius)
        return {name: str(value), f"{name}_radius_mm": radius}
    if key in _COLUMNS:
        unit, factor, zero = _COLUMNS[key]
        known = value.value is not None
        return {f"{name}_{unit}": rounded(factor * (value.value - zero)) if known else None}
    return {name: value if isinstance(value, float) else as_written(value)}


def identity(value: Any) -> Any:
    """What makes two values the same however they are written (0.144 in and drill 27)."""
    if isinstance(value, str):
        # A taper's words are numbers too.
        value = getattr(value, "value", TAPERS.get(value, value))
    return as_written(value) if isinstance(value, list) else value


def as_written(value: Any) -> str:
    """A varied value as text; a list of stations as ``0 mm: 3.7 mm; 10 mm: 4.6 mm``."""
    if isinstance(value, list):
        return "; ".join(f"{station.position}: {station.diameter}" for station in value)
    return str(value)


def rounded(value: float) -> float:
    """A value as it was before it went through SI."""
    # 1e3 times a float in metres may end in ...0001; twelve digits are far below any tolerance.
    return float(f"{value:.12g}")


def _slug(key: str, value: Any) -> str:
    if isinstance(value, list):
        return _safe(as_written(value).replace(" ", "").replace(":", "-").replace(";", "_"))
    text = str(value).strip()
    if key == "stations":
        return _safe(re.sub(r"\.csv$", "", text, flags=re.IGNORECASE))
    drill = drill_name(text)
    if drill is not None:
        return f"drill{drill.replace('/', '-')}"
    number = split_number(text)
    if number is None:
        return _safe(text)
    return quantity_slug(*number)


def quantity_slug(number: str, unit: str) -> str:
    """``0.50mm`` for 0.5 and mm; the same for 0.5, .50 and 5e-1."""
    unit = _UNIT_SLUGS.get(unit, unit)
    if "/" in number:
        return f"{number.lstrip('+').replace('/', '-')}{_safe(unit)}"
    plain = f"{Decimal(number).normalize():f}"
    whole, _, decimals = plain.partition(".")
    decimals = decimals.ljust(_DECIMALS.get(unit, 0), "0")
    return f"{whole}.{decimals}{_safe(unit)}" if decimals else f"{whole}{_safe(unit)}"


def _entry_part(text: str) -> str:
    shape, _, rest = " ".join(text.split()).partition(" ")
    if text == AS_MEASURED or shape == "square":
        return f"entry-{_safe(text)}"
    word = {"rounded": "radius", "chamfered": "chamfer", "elliptical": "ellipse"}[shape]
    slugs = [
        _slug("throat.entry", size) for size in re.split(r" at |\s*[x×]\s*", rest) if size.strip()
    ]
    return f"entry_{word}-{'-'.join(slugs)}"


def _safe(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9._]+", "-", text).strip("-.")
