"""Pictures of answers, on a screen or in a file."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from borestudy.drawing.style import DPI, FULL_WIDTH, MILLIMETRE, styled
from borestudy.drawing.trade_off import Column, draw_trade_off
from borestudy.files import replacing


def figure_to_draw_on(figure: Any | None, height_mm: float) -> Any:
    """The figure given, or a new one of a height that a notebook shows."""
    if figure is None:
        # Loaded late: the report draws without pyplot, which would look for a screen.
        from matplotlib import pyplot

        figure = pyplot.figure(figsize=(FULL_WIDTH, height_mm * MILLIMETRE), layout="constrained")
    return figure


@styled
def picture_of_trade_off(
    figure: Any | None, table: Any, columns: tuple[Column, Column], labels: Sequence[str]
) -> Any:
    """Two columns of a table on a figure; see `draw_trade_off`."""
    drawn = figure_to_draw_on(figure, 110.0)
    draw_trade_off(drawn, table, *columns, labels)
    return drawn


def save_picture(figure: Any, path: Path | str) -> None:
    """Write a figure as the kind of file that its name says, whole or not at all."""
    with replacing(path) as unfinished:
        metadata = {"Date": None} if Path(path).suffix == ".svg" else None
        figure.savefig(unfinished, dpi=DPI, metadata=metadata)
