"""The best estimate: laminar up to the place where a rule says that the flow turns turbulent."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from borestudy.fem.continuation import Path
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.models.spalart_allmaras.model import SLOWER
from borestudy.flow.models.spalart_allmaras.onset import Onset

#: Throat Reynolds number of the slowest flow that a start from nothing is tried at.
SLOWEST = 1000.0


@dataclass(frozen=True, kw_only=True)
class Estimate(SpalartAllmaras):
    """The Spalart-Allmaras model with an eddy viscosity from a place on; before it laminar flow.

    Where the place lies beyond the shank end the working variable is zero everywhere, and the
    equations are those of laminar flow.
    """

    onset: Onset | None = None
    inflow: float = 0.0

    name: ClassVar[str] = "estimate"
    lowest_reynolds: ClassVar[float] = 0.0
    #: The place moves with the Reynolds number, so that a start from nothing is nearer than the
    #: solution at another one.
    path: ClassVar[Path] = replace(SpalartAllmaras.path, anew=True)

    def transition(self, reynolds: float) -> float | None:
        return None if self.onset is None else float(self.onset.place(reynolds).real)

    def beginnings(self, reynolds: float) -> Sequence[float]:
        found = [reynolds]
        while SLOWER * found[-1] >= SLOWEST:
            found.append(SLOWER * found[-1])
        return found
