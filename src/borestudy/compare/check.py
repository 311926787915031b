"""One known answer against the program's own."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Check:
    """A computed figure beside its reference.

    Attributes
    ----------
    check : str
        What was solved.
    quantity, unit : str
        What was read from it.
    computed, reference : float
        The two figures.
    tolerance_percent : float
        How far they may lie apart, in percent of the reference.
    source : str
        Where the reference comes from.
    """

    check: str
    quantity: str
    unit: str
    computed: float
    reference: float
    tolerance_percent: float
    source: str

    @property
    def deviation_percent(self) -> float:
        """Computed less reference, in percent of the reference."""
        return 100 * (self.computed - self.reference) / abs(self.reference)

    @property
    def verdict(self) -> Literal["pass", "fail"]:
        """Whether the deviation is within the tolerance; a figure that is not a number fails."""
        return "pass" if abs(self.deviation_percent) <= self.tolerance_percent else "fail"
