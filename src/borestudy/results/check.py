"""One known answer against the program's own."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Check:
    """A computed figure beside its reference; ``check`` names the flow or sound field solved.

    The tolerance is the greatest deviation allowed, in percent of the reference; the uncertainty is
    the computed figure's numerical one, in its unit.  A reference of zero is refused: such a check
    is stated as a ratio to one.
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
