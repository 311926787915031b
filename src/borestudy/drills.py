"""Drill sizes: numbers, letters and fractions of an inch.

References
----------
ASME B94.11M-1993 (R2014), Twist Drills, Table 1: number sizes 80 to 1 and letter sizes A to Z.
"""

from fractions import Fraction
from functools import cache

_INCH = Fraction("0.0254")

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


def drill_diameter(name: str) -> float:
    """Diameter [m] of a size as the standard or the workshop calls it: ``27``, ``F``, ``9/64``."""
    return float(Fraction(DRILL_SIZES.get(name, name)) * _INCH)


def is_workshop_fraction(name: str) -> bool:
    """Whether a fraction of an inch is a drill: in 64ths at most, and up to three inches."""
    if len(name) > len("191/64"):
        return False  # and would be too long a number for Python to read
    above, below = (int(part) for part in name.split("/"))
    return below in (2, 4, 8, 16, 32, 64) and 0 < above <= 3 * below


def nearest_drill(diameter: float) -> tuple[str, float] | None:
    """The drill nearest to a diameter [m], with its own [m]; None beyond the sizes there are.

    A number or letter where it is as near as a fraction.
    """
    sizes = _all_drills()
    name = min(sizes, key=lambda name: abs(sizes[name] - diameter))
    within = float(_INCH / 128)
    return (f"drill {name}", sizes[name]) if abs(sizes[name] - diameter) <= within else None


@cache
def _all_drills() -> dict[str, float]:
    """Diameter of each size [m], numbers and letters first."""
    fractions = [str(Fraction(count, 64)) for count in range(1, 193) if count % 64]
    return {name: drill_diameter(name) for name in [*DRILL_SIZES, *fractions]}
