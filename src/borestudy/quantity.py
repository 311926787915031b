"""A computed number with its numerical uncertainty, its unit, and its value on each mesh."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.rounding import with_uncertainty

if TYPE_CHECKING:
    from numpy.typing import NDArray


#: Units of columns that are not printed by the rule of `spelled`.
PRINTED_UNITS = {
    "percent": "%", "deg": "°", "degC": "°C", "W_per_m_K": "W/(m·K)", "J_per_kg_K": "J/(kg·K)",
}  # fmt: skip


@dataclass(frozen=True)
class Quantity:
    """A number that was computed on a mesh.

    Attributes
    ----------
    value : float
        The number on the finest mesh, in `unit`.
    uncertainty : float or None
        Numerical uncertainty of about 95 %, in `unit`; None where one mesh alone cannot say.
    unit : str
        Unit as table columns spell it, such as ``kPa_s_per_L``; empty for a pure number.
    levels : tuple of float or None
        The value on each mesh, coarsest first; None where a mesh had none.
    """

    value: float
    uncertainty: float | None
    unit: str = ""
    levels: tuple[float | None, ...] = ()

    def __str__(self) -> str:
        """Value and uncertainty to the digits that the uncertainty leaves, with the unit."""
        return with_uncertainty(self.value, self.uncertainty, spelled(self.unit))

    def __float__(self) -> float:
        """The value alone."""
        return self.value

    @property
    def low(self) -> float:
        """Value less uncertainty."""
        return self.value - (self.uncertainty or 0.0)

    @property
    def high(self) -> float:
        """Value plus uncertainty."""
        return self.value + (self.uncertainty or 0.0)


class Quantities(tuple[Quantity | None, ...]):
    """Quantities of one kind in order, such as one for each flow rate; None where there is none.

    It is a tuple of `Quantity`, and its values serve as an array; where it holds one quantity,
    `float` gives its value.
    """

    def __new__(cls, quantities: Iterable[Quantity | None] = ()) -> "Quantities":
        """Make a tuple of the quantities."""
        return super().__new__(cls, tuple(quantities))

    @property
    def value(self) -> "NDArray[Any]":
        """Values, shape (n,), in the quantities' unit; NaN where there is none."""
        return self._array([None if one is None else one.value for one in self])

    @property
    def uncertainty(self) -> "NDArray[Any]":
        """Numerical uncertainties, shape (n,), in the same unit; NaN where not known."""
        return self._array([None if one is None else one.uncertainty for one in self])

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> "NDArray[Any]":
        """The values, for NumPy's functions."""
        return self.value if dtype is None else self.value.astype(dtype)

    def __float__(self) -> float:
        """The value of the one quantity that it holds."""
        (one,) = self
        return math.nan if one is None else one.value

    def __repr__(self) -> str:
        """Each with its uncertainty and unit."""
        return ", ".join("no solution" if one is None else str(one) for one in self)

    __str__ = __repr__

    @staticmethod
    def _array(values: list[float | None]) -> "NDArray[Any]":
        import numpy as np  # not to be waited for by whoever only reads records

        return np.array([math.nan if value is None else value for value in values])


def spelled(unit: str) -> str:
    """A column's unit as a reader writes it: ``kPa_s_per_L`` is ``kPa·s/L``."""
    above, *below = unit.replace("m3", "m³").replace("m2", "m²").split("_per_")
    return PRINTED_UNITS.get(unit, "/".join([above.replace("_", "·"), *below]))
