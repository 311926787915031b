"""A computed number with its numerical uncertainty, its unit, and its value on each mesh."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """A number that was computed on a mesh.

    Attributes
    ----------
    value : float
        In `unit`, on the finest mesh.
    uncertainty : float or None
        Numerical, about 95 %, in `unit`; None where one mesh alone cannot say.
    unit : str
        As table columns spell it, such as ``kPa_s_per_L``; empty for a pure number.
    levels : tuple of float or None
        The value on each mesh, coarsest first; None where a mesh had none.
    """

    value: float
    uncertainty: float | None
    unit: str = ""
    levels: tuple[float | None, ...] = ()

    def __str__(self) -> str:
        """Value and uncertainty to the digits that the uncertainty leaves, with the unit."""
        unit = f" {spelled(self.unit)}" if self.unit else ""
        if self.uncertainty is None:
            return f"{self.value:.4g}{unit} (uncertainty not known)"
        if self.uncertainty <= 0:
            return f"{self.value:.10g} ± 0{unit}"
        digits = max(0, 1 - math.floor(math.log10(self.uncertainty)))
        return f"{self.value:.{digits}f} ± {self.uncertainty:.{digits}f}{unit}"

    @property
    def low(self) -> float:
        """Value less uncertainty."""
        return self.value - (self.uncertainty or 0.0)

    @property
    def high(self) -> float:
        """Value plus uncertainty."""
        return self.value + (self.uncertainty or 0.0)


def spelled(unit: str) -> str:
    """A column's unit as a reader writes it: ``kPa_s_per_L`` is ``kPa s/L``."""
    above, *below = unit.split("_per_")
    over = f"/{below[0].replace('m3', 'm³')}" if below else ""
    return above.replace("_", " ").replace("percent", "%") + over
