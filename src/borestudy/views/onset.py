"""What it takes to start a tone on one bore: a table by register, a text and a picture."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.playing.lips import Lips
from borestudy.results.case import CaseResults
from borestudy.results.onset import OnsetOfRegister, OnsetResult
from borestudy.rounding import NO_VALUE, significant, with_uncertainty
from borestudy.views.text import aligned

if TYPE_CHECKING:
    import pandas as pd

HEADER = [
    "register", "peak, Hz", "least mouth pressure, kPa", "other lips, kPa", "sounds at, Hz",
    "above the peak", "flow, L/s", "note",
]  # fmt: skip
#: What the model leaves out.
LEFT_OUT = (
    "The lips are a valve of one mass that opens outward, and invented unless a source is given: "
    "what is computed is what the model needs, and no player's effort. The player's own tract, "
    "vibrating walls and waves that steepen are left out."
)
GOOD = ("", "good")


@dataclass(frozen=True, repr=False)
class Onset:
    """The least threshold of each register of one bore.

    Attributes
    ----------
    case : CaseResults
        The bore's results, with its onset.
    lips : Lips
        The lips that start the tone.
    """

    case: CaseResults
    lips: Lips

    @property
    def result(self) -> OnsetResult:
        """The onset with all figures, thresholds of other lips and curves."""
        return self.case.onset or OnsetResult()

    @property
    def registers(self) -> Sequence[OnsetOfRegister]:
        """Registers from the lowest up."""
        return self.result.registers

    def to_frame(self) -> "pd.DataFrame":
        """The columns of ``onset.csv``, a row a register."""
        from borestudy.results.tables.playing import onset_table

        return onset_table([self.case])

    @property
    def cautions(self) -> list[str]:
        """What is to be said of how it was computed."""
        told = [self.result.note, *(one for one in self.case.flow.warnings)]
        return [one.rstrip(".") for one in dict.fromkeys(told) if one]

    def lines(self) -> list[str]:
        """The lips, a line a register, and what limits the figures."""
        lips = self.lips
        rows = [HEADER, *map(_row, self.registers)]
        return [
            f"Lips: {lips.mass_per_area:g} kg/m², Q {lips.quality_factor:g}, "
            f"{1e3 * lips.width:g} mm wide, {1e3 * lips.opening_at_rest:g} mm open at rest. "
            f"Behind the shank: {self.result.behind}.",
            "",
            *(aligned(rows, words_last=True) if len(rows) > 1 else ["No register was found."]),
            "The lips' resonance is where each register needs least; ± is the error of computing.",
            LEFT_OUT,
            *(f"Caution: {told}." for told in self.cautions),
        ]

    def facts(self) -> Mapping[str, Any]:
        """The answer for programs, but for the table."""
        lips = self.lips
        return {
            "lips": {
                "mass_per_area_kg_per_m2": lips.mass_per_area,
                "quality_factor": lips.quality_factor,
                "width_mm": 1e3 * lips.width,
                "opening_mm": 1e3 * lips.opening_at_rest,
            },
            "behind": self.result.behind,
            "cautions": self.cautions,
            "left_out": LEFT_OUT,
        }

    def plot(self) -> Any:
        """Draw thresholds and sounding pitch by register.

        Returns
        -------
        matplotlib.figure.Figure
        """
        from borestudy.views.pictures import picture_of_onset

        return picture_of_onset(self.registers)

    def __repr__(self) -> str:
        """The lines."""
        return "\n".join(self.lines())


def _row(one: OnsetOfRegister) -> list[str]:
    pressures = [each for each in one.set_mouth_pressure_Pa if each is not None]
    others = NO_VALUE
    if pressures:
        ends = [significant(1e-3 * end, 2) for end in (min(pressures), max(pressures))]
        count = f"{len(pressures)} of {len(one.set_mouth_pressure_Pa)}"
        others = f"{' to '.join(dict.fromkeys(ends))} ({count})"
    pressure = NO_VALUE
    if (found := one.mouth_pressure) is not None:
        error = None if found.uncertainty is None else 1e-3 * found.uncertainty
        pressure = with_uncertainty(1e-3 * found.value, error)
    return [
        str(one.register),
        NO_VALUE if one.peak_frequency is None else f"{one.peak_frequency.value:.1f}",
        pressure,
        others,
        NO_VALUE if one.sounding_frequency is None else f"{one.sounding_frequency.value:.1f}",
        NO_VALUE if one.sounding_above_peak is None else str(one.sounding_above_peak),
        NO_VALUE if one.flow_rate is None else significant(one.flow_rate.value, 2),
        "" if one.validity in GOOD else one.validity,
    ]
