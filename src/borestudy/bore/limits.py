"""What no brass mouthpiece exceeds: a value beyond is one in another unit."""

import numpy as np

from borestudy.bore.errors import BoreError, millimetres

#: Overall length [m].
LENGTHS = (0.010, 2.0)
#: Diameters [m].
DIAMETERS = (0.0005, 0.2)
#: What is usual where a throat's diameter would not do.
EXAMPLES = {"cup.diameter": "16.2 mm or 0.64 in", "backbore.end_diameter": "9 mm or 0.35 in"}


def check_length(key: str, length: float) -> None:
    """Refuse an overall length that must be in another unit.

    Raises
    ------
    BoreError
    """
    _check(key, length, LENGTHS, "88 mm or 3.5 in")


def check_diameter(key: str, diameter: float) -> None:
    """Refuse a diameter that must be in another unit.

    Raises
    ------
    BoreError
    """
    _check(key, diameter, DIAMETERS, EXAMPLES.get(key, "3.66 mm or 0.144 in"))


def _check(key: str, value: float, limits: tuple[float, float], example: str) -> None:
    if not (np.isfinite(value) and limits[0] <= value <= limits[1]):
        least, most = map(millimetres, limits)
        raise BoreError(
            key,
            f"found {millimetres(value)}; allowed is {least} to {most} (is it in another unit?), "
            f"for example {example}",
        )
