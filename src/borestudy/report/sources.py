"""Where a number of the report is found as a file, how it was computed, and what checked it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """Files beside the report that hold a table's or a figure's numbers, and two anchors.

    `how` is the anchor of the paragraph on the method, `checked` that of the checks; either is
    empty where there is none.
    """

    files: tuple[str, ...]
    how: str = ""
    checked: str = ""


BORES = Source(("comparison.csv", "cases.csv"), "how-bore", "hand-comparison")
ENDS = Source(("comparison.csv",), "how-uncertainty", "checks")
FLOW_AT_RATE = Source(("comparison.csv",), "how-flow", "checks")
FLOW = Source(("flow.csv",), "how-flow", "checks")
SOUND = Source(("comparison.csv",), "how-sound", "checks")
CURVES = Source(("impedance.csv",), "how-sound", "checks")
PEAKS = Source(("peaks.csv",), "how-sound", "checks")
STREAM = Source(("stream.csv",), "how-stream", "checks")
ENERGY = Source(("energy.csv",), "how-flow", "checks")
SEPARATIONS = Source(("separations.csv",), "how-flow", "checks")
EFFECTS = Source(("sensitivities.csv",), "how-derivatives", "checks")
SHOP = Source(("tolerances.csv",), "how-derivatives", "checks")
WISHES = Source(("wishes.csv",), "how-derivatives", "checks")
ONSET = Source(("onset.csv",), "how-playing", "checks")
ONSET_CHANGES = Source(("onset_changes.csv",), "how-playing", "checks")
TONE_CHANGES = Source(("tone_changes.csv",), "how-playing", "checks")
TONE = Source(("tone.csv", "tone_harmonics.csv"), "how-playing", "checks")
COURSES = Source((), "how-playing", "checks")
HAND = Source(("hand_formulas.csv",), "how-hand", "checks")
CHECKS = Source(("verification.csv",), "how-uncertainty")
BUDGET = Source(("budget.csv",), "how-uncertainty", "checks")
MEASURED = Source((), "how-uncertainty")
TIMES = Source(("costs.csv", "benchmarks.csv"))

#: Of each figure by its name; what a name is not here for is of the comparison.
OF_FIGURES = {
    "bore-sections": BORES,
    "stations": Source((), "how-bore"),
    "mesh": Source(("cases.csv",), "how-bore"),
    "impedance": CURVES,
    "peaks": PEAKS,
    "mouthpiece": SOUND,
    "resonance-trend": SOUND,
    "resonance-field": Source((), "how-sound", "checks"),
    "resistance-trend": FLOW,
    "resistance-change": FLOW,
    "pressure-drop": FLOW,
    "throat-entry": Source((), "how-flow", "checks"),
    "axis-pressure": Source((), "how-flow", "checks"),
    "wall": SEPARATIONS,
    "thresholds": ONSET,
    "sounding-pitch": ONSET,
    "tone-spectra": TONE,
    "tone-course": COURSES,
    "sensitivities": EFFECTS,
    "sensitivities-along": EFFECTS,
    "wish": WISHES,
    "costs": Source(("benchmarks.csv", "mesh_costs.csv")),
    "comparison-errors": Source((), "how-uncertainty", "measurements"),
}


#: Of each table by the name that the page has for it.
OF_TABLES = {
    "flow": FLOW,
    "flow_parts": FLOW,
    "flow_changes": FLOW,
    "extremes": FLOW,
    "energy": ENERGY,
    "dimensions": EFFECTS,
    "separations": SEPARATIONS,
    "stream": STREAM,
    "onset": ONSET,
    "onset_changes": ONSET_CHANGES,
    "tone": TONE,
    "tone_changes": TONE_CHANGES,
    "tolerances": SHOP,
    "checks": CHECKS,
    "failed": CHECKS,
    "verification": CHECKS,
    "comparison_errors": MEASURED,
    "all_comparison_errors": MEASURED,
    "names": Source(("cases.csv",)),
    "budget": BUDGET,
    "benchmarks": TIMES,
}


def source_of(figure: str) -> Source:
    """Where the numbers of a figure come from, by its name."""
    return OF_FIGURES.get(figure, ENDS)
