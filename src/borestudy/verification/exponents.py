"""Exponents: the derivative of a figure's logarithm by that of a dimension.

The resonances of a lossless pipe go with the power -1 of its length.
"""

from collections.abc import Callable
from functools import partial

import numpy as np

from borestudy.bore import Bore, Dimension, variation
from borestudy.quantity import Quantity

#: Change of a dimension either way, as a share, by which a closed form is differentiated: the
#: square of it is left.
SHARE = 1e-3


def by_size(build: Callable[..., Bore], **sizes: float) -> list[Dimension]:
    """The dimensions of a bore by the names of its builder's arguments."""

    def changed(value: float, name: str) -> Bore:
        return build(**sizes | {name: value})

    return [variation(partial(changed, name=name), size, key=name) for name, size in sizes.items()]


def exponent_in(figure: Callable[[float], float], size: float) -> float:
    """Exponent of a size in a figure that is known in closed form."""
    high, low = (np.log(figure((1 + sign * SHARE) * size)) for sign in (1, -1))
    return float((high - low) / np.log((1 + SHARE) / (1 - SHARE)))


def power(slope: Quantity | None, size: float, figure: float) -> float:
    """Exponent of a size [m] in a figure from the derivative per mm; NaN where there is none."""
    return float("nan") if slope is None else float(slope.value * 1e3 * size / figure)
