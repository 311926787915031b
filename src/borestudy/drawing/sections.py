"""Bores over each other in section, to scale: what a study is about, before it is computed."""

from collections.abc import Sequence
from typing import Any

from borestudy.drawing.bore import Outline, draw_section, frame_section, mark_parts
from borestudy.drawing.style import (
    LEGEND_LIMIT,
    evenly_spaced,
    figure,
    legend,
    plain_line,
    styled,
)


@styled
def sections_figure(walls: Sequence[Outline], labels: Sequence[str]) -> Any:
    """Draw up to eight bores, evenly spaced among those given, with their parts and a legend.

    Parameters
    ----------
    walls : list of Outline
        Of the bores; the parts are those of the first.
    labels : list of str
        What each is called.

    Returns
    -------
    matplotlib.figure.Figure
    """
    shown = evenly_spaced(len(walls), LEGEND_LIMIT)
    drawn = figure(70.0 if len(shown) > 1 else 60.0)
    axes = drawn.add_subplot()
    handles = [
        draw_section(axes, walls[index], **plain_line(place, len(shown)))
        for place, index in enumerate(shown)
    ]
    frame_section(axes)
    mark_parts(axes, walls[0])
    if len(shown) > 1:
        legend(drawn, handles, [labels[index] for index in shown])
    return drawn
