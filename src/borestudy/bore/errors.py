"""Dimensions that make no bore."""

import math


class BoreError(ValueError):
    """A bore that cannot exist: what was found, what is allowed, an example.

    Attributes
    ----------
    key : str
        Dotted key of the dimension inside the bore, such as ``throat.entry``.
    """

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def millimetres(length: float) -> str:
    """A length in metres as text in millimetres, to the micrometre."""
    return f"{1e3 * length:.6g} mm"


def below(limit: float) -> str:
    """A length in metres below a limit, as text in millimetres of two digits, for an example."""
    digit = 10.0 ** (math.floor(math.log10(1e3 * limit)) - 1)
    return f"{math.floor(0.999 * 1e3 * limit / digit) * digit:.6g} mm"
