"""Dimensions that make no bore, and lengths as messages write them."""

import math

#: What no brass mouthpiece exceeds: overall length and diameters [m].
LENGTHS, DIAMETERS = (0.010, 2.0), (0.0005, 0.2)
#: What is usual where a throat's diameter would not do.
EXAMPLES = {"cup.diameter": "16.2 mm or 0.64 in", "backbore.end_diameter": "9 mm or 0.35 in"}


class BoreError(ValueError):
    """A bore that cannot exist: what was found, what is allowed, an example.

    `key` is the dotted key of the dimension inside the bore, such as ``throat.entry``.
    """

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def refusal(key: str, found: str, allowed: str, example: str) -> BoreError:
    """The error of a dimension, from what was found, "is" or "are" what is allowed, an example."""
    return BoreError(key, f"found {found}; allowed {allowed}, for example {example}")


def millimetres(length: float) -> str:
    """A length in metres as text in millimetres, to the micrometre."""
    return f"{1e3 * length:.6g} mm"


def below(limit: float) -> str:
    """A length in metres below a limit, as text in millimetres of two digits, for an example."""
    digit = 10.0 ** (math.floor(math.log10(1e3 * limit)) - 1)
    return f"{math.floor(0.999 * 1e3 * limit / digit) * digit:.6g} mm"


def check_length(key: str, length: float) -> None:
    """Refuse an overall length [m] that must be in another unit, by a `BoreError`."""
    _check(key, length, LENGTHS, "88 mm or 3.5 in")


def check_diameter(key: str, diameter: float) -> None:
    """Refuse a diameter [m] that must be in another unit, by a `BoreError`."""
    _check(key, diameter, DIAMETERS, EXAMPLES.get(key, "3.66 mm or 0.144 in"))


def _check(key: str, value: float, limits: tuple[float, float], example: str) -> None:
    if not (math.isfinite(value) and limits[0] <= value <= limits[1]):
        least, most = map(millimetres, limits)
        allowed = f"is {least} to {most} (is it in another unit?)"
        raise refusal(key, millimetres(value), allowed, example)
