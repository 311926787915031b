"""The best estimate: laminar up to the place where a rule says that the flow turns turbulent."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from borestudy.bore import Bore, passage
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.models.spalart_allmaras.model import SLOWER
from borestudy.flow.models.spalart_allmaras.onset import RAMP, Onset, onset_in

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

    def near(self, first: float, second: float) -> bool:
        """Where the place moves, a start from nothing is nearer than the other solution."""
        if self.onset is None:
            return True
        places = [self.onset.place(reynolds).real for reynolds in (first, second)]
        return bool(abs(places[1] - places[0]) < RAMP)

    def transition(self, reynolds: float) -> float | None:
        return None if self.onset is None else float(self.onset.place(reynolds).real)

    def in_bore(self, bore: Bore) -> "Estimate":
        if self.onset is None:
            return self
        there = onset_in(passage(bore))
        shift, behind_edge = self.onset.shift, self.onset.behind_edge
        return replace(self, onset=replace(there, shift=shift, behind_edge=behind_edge))

    def ramp(self, reynolds: complex, scale: float = 1.0) -> NDArray | None:
        if self.onset is None:
            return None
        ramp = self.onset.ramp(reynolds, scale)
        return np.array([ramp.place, ramp.length, ramp.dose, ramp.first])

    def beginnings(self, reynolds: float) -> Sequence[float]:
        found = [reynolds]
        while SLOWER * found[-1] >= SLOWEST:
            found.append(SLOWER * found[-1])
        return found


@dataclass(frozen=True)
class FromRimPlane(SpalartAllmaras):
    """The best estimate where the air comes in turbulent."""

    name: ClassVar[str] = "estimate"

    def transition(self, reynolds: float) -> float | None:
        return 0.0
