"""What rounding a throat's entry is worth: two sentences, a table and a picture."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from borestudy.report.sentences.first import ENTRY_QUESTION, FirstSentence, first_sentences
from borestudy.report.sentences.words import change_text
from borestudy.results.case import CaseResults
from borestudy.results.changes import flow_change, resonance_change
from borestudy.results.estimate import WHOLE
from borestudy.rounding import NO_VALUE, with_both_errors
from borestudy.views.text import aligned

if TYPE_CHECKING:
    import pandas as pd

    from borestudy.bore import Bore

#: The only flow rate.
RATE = 0
#: As many sentences as answer a maker.
SENTENCES = 2
HEADER = ["entry", "pressure, Pa", "flow resistance", "first resonance"]


@dataclass(frozen=True, repr=False)
class EntryAnswer:
    """Entries of one throat at one flow rate, each against the first.

    Attributes
    ----------
    cases : sequence of CaseResults
        The entries, the first what the others are compared with.
    bores : sequence of Bore
        Their bores, for the picture.
    """

    cases: Sequence[CaseResults]
    bores: "Sequence[Bore]"

    @property
    def sentences(self) -> list[FirstSentence]:
        """What the best entry does, and how much rounding is enough or what it costs."""
        return first_sentences(self.cases, RATE, ENTRY_QUESTION)[:SENTENCES]

    def to_frame(self) -> "pd.DataFrame":
        """The columns of ``flow.csv``, a row an entry."""
        from borestudy.results.tables.flow import flow_table

        return flow_table(self.cases)

    def lines(self) -> list[str]:
        """The sentences, then a line an entry with its pressure, numerical and model error apart.

        Changes are against the first entry.
        """
        base = self.cases[0]
        rows = [HEADER, [base.called, _pressure(base), "", ""]]
        rows += [
            [
                case.called,
                _pressure(case),
                change_text(flow_change(case, base, RATE)),
                change_text(resonance_change(case, base), "cents"),
            ]
            for case in self.cases[1:]
        ]
        return [
            *(one.text for one in self.sentences),
            "",
            *aligned(rows),
            "The first ± of a pressure is the error of computing, the second that of the "
            "equations; a change has both in one.",
            *(f"Caution: {told}." for told in self.cautions),
        ]

    @property
    def cautions(self) -> list[str]:
        """What is to be said of how the bores were solved."""
        told = (one.rstrip(".") for case in self.cases for one in case.flow.warnings)
        return list(dict.fromkeys(told))

    def facts(self) -> Mapping[str, Any]:
        """The answer for programs: its sentences, and each number with its table."""
        return {
            "answer": [one.text for one in self.sentences],
            "numbers": [one.source() for one in self.sentences],
            "cautions": self.cautions,
        }

    def plot(self) -> Any:
        """Draw the entries and what each does.

        Returns
        -------
        matplotlib.figure.Figure
        """
        from borestudy.drawing.bore import outline
        from borestudy.views.pictures import picture_of_entries

        found = [flow_change(case, self.cases[0], RATE) for case in self.cases]
        values, errors = (
            [math.nan if one is None else one for one in column]
            for column in zip(*((one.value, one.uncertainty) for one in found), strict=True)
        )
        rate = self.cases[0].rates[RATE].flow_rate_L_per_s
        labels, outlines = [case.called for case in self.cases], [*map(outline, self.bores)]
        return picture_of_entries(labels, outlines, rate, (values, errors))

    def __repr__(self) -> str:
        """The lines."""
        return "\n".join(self.lines())


def _pressure(case: CaseResults) -> str:
    """The pressure drop with its numerical and its model error."""
    row = case.rate(RATE)
    drop = None if row is None else row.quantity(WHOLE)
    if row is None or drop is None:
        return NO_VALUE
    sides = None if row.model_error is None else row.model_error.drops.get(WHOLE)
    below, above = (None, None) if sides is None else (sides.low, sides.high)
    return with_both_errors(drop.value, drop.uncertainty, below, above)
