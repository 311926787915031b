"""One known answer against the program's own."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Check:
    """A computed figure beside its reference.

    Attributes
    ----------
    check : str
        Flow or sound field that was solved.
    quantity, unit : str
        Figure that was read from the solution, and its unit.
    computed, reference : float
        The two figures.  A reference of zero is refused: state such a check as a ratio to one.
    tolerance_percent : float
        Greatest deviation allowed, in percent of the reference.
    source : str
        Source of the reference.
    uncertainty : float, optional
        Numerical uncertainty of the computed figure, in `unit`.
    """

    check: str
    quantity: str
    unit: str
    computed: float
    reference: float
    tolerance_percent: float
    source: str
    uncertainty: float | None = None

    def __post_init__(self) -> None:
        """Refuse a reference that no deviation in percent can be taken of."""
        if self.reference == 0:
            raise ValueError(
                f"check {self.check!r}, {self.quantity}: found a reference of 0, of which no "
                "deviation in percent exists; allowed is any other number, for example "
                "1 + residual against 1"
            )

    @property
    def deviation_percent(self) -> float:
        """Computed less reference, in percent of the reference."""
        return 100 * (self.computed - self.reference) / abs(self.reference)

    @property
    def verdict(self) -> Literal["pass", "fail"]:
        """Whether the deviation is within the tolerance; a figure that is not a number fails."""
        return "pass" if abs(self.deviation_percent) <= self.tolerance_percent else "fail"
