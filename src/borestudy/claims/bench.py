"""What a claim about one bore is held against, and what its causes are tried with."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from borestudy.acoustics.result import Resonance
from borestudy.air import Air
from borestudy.closed_form.handbook import Dimensions
from borestudy.results.case import CaseResults
from borestudy.results.changes import peak_shift
from borestudy.results.estimate import EstimatedRate
from borestudy.results.reported import OF_RESONANCE

#: Field of a resonance by what follows its name.
ENDINGS = {ending.strip(): name for name, ending in OF_RESONANCE.items()}


def split_peak(figure: str) -> tuple[str, str | None]:
    """``peak 4 Q`` as the peak and the field of its record; None of what is no resonance."""
    found = re.fullmatch(r"(resonance|peak \d+) ?(.*)", figure)
    return (found[1], ENDINGS.get(found[2])) if found else (figure, None)


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A case with all that is known of it.

    Attributes
    ----------
    case, first : CaseResults
        The case, and the study's first one, which changes are against.
    air : Air
        The case's air.
    temperature, relative_humidity, pressure : float
        State of that air [K, 1, Pa].
    handbook : Dimensions
        What handbooks of pressure loss need of the bore.
    lossless : callable
        Solves the case's resonances without losses at the walls, from the lowest up.
    pressure_node : callable
        Finds the case's resonances with no pressure at all at the shank end.
    """

    case: CaseResults
    first: CaseResults
    air: Air
    temperature: float
    relative_humidity: float
    pressure: float
    handbook: Dimensions
    lossless: Callable[[], Sequence[Resonance]]
    pressure_node: Callable[[], Sequence[Resonance]]

    def rate(self, litres_per_second: float | None) -> EstimatedRate | None:
        """The study's flow rate of that size; None where it was not computed."""
        if litres_per_second is None:
            return None
        return next(
            (
                rate
                for rate in self.case.rates
                if math.isclose(rate.flow_rate_L_per_s, litres_per_second, rel_tol=1e-9)
            ),
            None,
        )

    def place(self, peak: str) -> int:
        """Place among the case's resonances of ``resonance`` or ``peak N``, from 0."""
        if not peak.startswith("peak "):
            return 0
        return int(peak.split()[1]) - 1 + peak_shift(self.first, self.case)

    @property
    def termination(self) -> str:
        """What is behind the shank."""
        return "" if self.case.acoustics is None else self.case.acoustics.termination
