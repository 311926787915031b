"""The reference figures computed on this machine, and a small study's among them."""

import math
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

import pandas as pd

from borestudy.quantity import Quantity, spelled
from borestudy.reference.fixed import fixed_figures
from borestudy.reference.table import (
    SHIPPED,
    Compared,
    Figure,
    compare,
    shipped_figures,
    write_figures,
)
from borestudy.results.case import CaseResults
from borestudy.stages.cases import solve_study_cases
from borestudy.study import study_from_mapping
from borestudy.views.text import aligned

#: Two bores of the trumpet class with invented dimensions, at a soft and at a loud flow rate.
STUDY = {
    "bore": {
        "length": "88 mm",
        "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
        "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "square"},
        "backbore": {"end_diameter": "9 mm"},
    },
    "vary": {"throat.entry": ["square", "rounded 1 mm"]},
    "air": {"temperature": "25 degC", "relative_humidity": "50 %"},
    "flow": {"rates": "0.05, 0.2 L/s"},
    "mesh": {"resolution": "coarse"},
}
#: Another mesh of the same settings is off by its own error, independently.
MESHES = "numerical uncertainties of two meshes"


def reference_figures(processes: int | None = None) -> list[Figure]:
    """Every reference figure, computed here; half a minute or so.

    Parameters
    ----------
    processes : int, optional
        How many bores are solved at a time; by default as many as there are processors to be had.
    """
    study = study_from_mapping(STUDY, Path(), "reference")
    bore = study.cases()[0].build_bore()
    cases = solve_study_cases(study, processes)
    return [*fixed_figures(bore), *(one for case in cases for one in case_figures(case))]


def case_figures(case: CaseResults) -> list[Figure]:
    """The first resonance of a case, and its pressure drop at each flow rate."""
    found: dict[str, Quantity | None] = {
        "resonance": case.resonances[0].frequency if case.resonances else None,
        "Q of the resonance": case.resonances[0].Q if case.resonances else None,
    }
    for rate in case.flow.rates:
        solved = rate.figures
        words = f"pressure drop at {rate.flow_rate_L_per_s:g} L/s"
        found[words] = None if solved is None else solved.pressure_drop
    none = float("nan")
    return [
        Figure(
            f"{case.name}, {words}",
            "" if quantity is None else quantity.unit,
            none if quantity is None else quantity.value,
            none
            if quantity is None or quantity.uncertainty is None
            else math.sqrt(2) * quantity.uncertainty,
            MESHES,
        )
        for words, quantity in found.items()
    ]


class Reference:
    """The reference table held against figures that were computed here.

    Parameters
    ----------
    lines : list of Compared
        A figure each.
    """

    def __init__(self, lines: Sequence[Compared]) -> None:
        self.lines = lines

    @property
    def agrees(self) -> bool:
        """Whether every figure does."""
        return all(one.verdict == "agrees" for one in self.lines)

    def to_frame(self) -> pd.DataFrame:
        """A row a figure."""
        return pd.DataFrame(
            {
                "figure": one.expected.name,
                "unit": one.expected.unit,
                "expected": one.expected.value,
                "obtained": one.obtained,
                "tolerance": one.expected.tolerance,
                "tolerance_from": one.expected.tolerance_from,
                "verdict": one.verdict,
            }
            for one in self.lines
        )

    def __str__(self) -> str:
        """A line a figure, and one that says what they mean together."""
        rows = [["", "expected", "obtained", "tolerance", "unit", "verdict"]]
        rows += [
            [
                one.expected.name,
                f"{one.expected.value:.9g}",
                "none" if math.isnan(one.obtained) else f"{one.obtained:.9g}",
                f"{one.expected.tolerance:.2g}",
                spelled(one.expected.unit) or "1",
                one.verdict,
            ]
            for one in self.lines
        ]
        count, same = len(self.lines), sum(one.is_same for one in self.lines)
        off = sum(one.verdict != "agrees" for one in self.lines)
        if off:
            last = (
                f"{off} of {count} figures differ by more than their tolerance: "
                "do not trust what this installation computes"
            )
        else:
            last = f"all {count} figures agree, {same} of them to the last digit"
        return "\n".join([*aligned(rows, words_last=True), last])


def compared_with_reference(processes: int | None = None) -> Reference:
    """Compute the reference figures here and hold them against the table that is shipped."""
    return Reference(compare(shipped_figures(), reference_figures(processes)))


def renew_shipped() -> None:
    """Write the table that is shipped from what this machine computes."""
    write_figures(reference_figures(), Path(str(files("borestudy.reference").joinpath(SHIPPED))))
