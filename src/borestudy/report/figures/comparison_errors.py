"""The best estimate against measurements, on the model error that is stated for each."""

from collections.abc import Sequence
from pathlib import Path

from borestudy.drawing import style
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
    drawing = style.figure(125)
    draw_comparison_errors(drawing, marks_of(rows, lambda row: stated_error(row, sizes)))
    return save(drawing, directory, COMPARISON_ERRORS, count=len(rows))
