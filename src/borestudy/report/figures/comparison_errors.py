"""The best estimate against measurements, on the model error that is stated for each."""

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from borestudy.drawing import looks, style
from borestudy.drawing.comparisons import draw_comparison_errors, marks_of
from borestudy.report.captions import save
from borestudy.results.comparison_errors import ComparisonError
from borestudy.results.error_parts import stated_error
from borestudy.results.error_sizes import shipped_sizes

#: Name of the figure.
COMPARISON_ERRORS = "comparison-errors"


@style.styled
def draw_measurements(
    rows: Sequence[ComparisonError], directory: Path
) -> style.FigureRecord | None:
    """Write the figure of every comparison of the best estimate; None without one."""
    if not rows:
        return None
    sizes = shipped_sizes()
    drawing = style.figure(150 if looks.is_narrow() else 125)
    marks = marks_of(rows, lambda row: stated_error(row, sizes))
    draw_comparison_errors(drawing, marks)
    stated = [mark.stated or (None, None) for mark in marks]
    data = pd.DataFrame(
        {
            "part": [mark.part for mark in marks],
            "compared_with": [mark.kind for mark in marks],
            "throat_reynolds": [mark.reynolds for mark in marks],
            "computed_less_measured_q": [mark.error for mark in marks],
            "computed_less_measured_q_uncertainty": [mark.uncertainty for mark in marks],
            "stated_model_error_below_q": [below for below, _ in stated],
            "stated_model_error_above_q": [above for _, above in stated],
        }
    )
    return save(drawing, directory, COMPARISON_ERRORS, data, count=len(rows))
