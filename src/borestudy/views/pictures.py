"""Pictures of answers, as a notebook shows them or a file holds them."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from borestudy.drawing.bore import Outline, outline
from borestudy.drawing.headline import headline_figure
from borestudy.drawing.intervals import intervals_figure
from borestudy.drawing.style import DPI, figure, styled
from borestudy.drawing.trade_off import Column, draw_trade_off
from borestudy.files import replacing
from borestudy.quantity import spelled
from borestudy.report.figures.headline import changes
from borestudy.report.figures.sensitivities import quantities_shown, ranked_figure
from borestudy.report.figures.sensitivities_along import along_figure, quantities_along
from borestudy.report.figures.wish import figure_of, is_drawn
from borestudy.results.onset import OnsetOfRegister
from borestudy.results.toleranced import TolerancedQuantity
from borestudy.results.wishes import WishResult
from borestudy.views.onset_picture import onset_figure

if TYPE_CHECKING:
    import pandas as pd

    from borestudy.bore import Bore


@styled
def picture_of_trade_off(table: Any, columns: tuple[Column, Column], labels: Sequence[str]) -> Any:
    """Two columns of a table as a figure; see `draw_trade_off`."""
    drawn = figure(110.0)
    draw_trade_off(drawn, table, *columns, labels)
    return drawn


@styled
def picture_of_sensitivities(table: "pd.DataFrame", rate: float | None, bore: "Bore | None") -> Any:
    """The effects on one case's quantities: along the axis of a measured bore, else ranked.

    Raises
    ------
    ValueError
        If no effect is known.
    """
    along = quantities_along(table, rate)
    if along and bore is not None:
        return along_figure(along, outline(bore))
    panels = quantities_shown(table, rate)
    if not panels:
        raise ValueError("no quantity of this bore has a derivative, so that nothing can be drawn")
    return ranked_figure(panels)[0]


@styled
def picture_of_wish(found: WishResult) -> Any:
    """Every solve of a search; a ValueError where there is none but the first."""
    if not is_drawn(found):
        raise ValueError("no bore but the first was solved, so that there is no way to draw")
    return figure_of(found)


@styled
def picture_of_entries(
    labels: Sequence[str],
    outlines: Sequence[Outline],
    rate: float,
    change: tuple[Sequence[float], Sequence[float]],
) -> Any:
    """Sections of the entries, and how each changes the flow resistance at a rate [L/s].

    The change against the first and its uncertainty [%] are of shape (n,), NaN where not known.
    """
    return headline_figure(changes(labels, outlines, {rate: change}))


@styled
def picture_of_scatter(shown: Sequence[TolerancedQuantity]) -> Any:
    """Where 95 % and 68 % of the bores lie, a panel for cents and one for percent."""
    panels: dict[str, dict[str, Sequence[float]]] = {}
    for one in shown:
        panels.setdefault(spelled(one.effect_unit), {})[one.quantity] = one.percentiles
    words = "95 % of the bores", "68 % of them"
    return intervals_figure(panels, words, "change against the bore as drawn")


@styled
def picture_of_onset(registers: Sequence[OnsetOfRegister]) -> Any:
    """Least mouth pressure and sounding pitch of each register, with the range of other lips.

    Raises
    ------
    ValueError
        If no register has a tone.
    """
    sounding = [one for one in registers if one.mouth_pressure is not None]
    if not sounding:
        raise ValueError("no register of this bore has a tone, so that nothing can be drawn")
    return onset_figure(sounding)


def save_picture(drawn: Any, path: Path | str) -> None:
    """Write a figure as the kind of file that its name says, whole or not at all."""
    with replacing(path) as unfinished:
        metadata = {"Date": None} if Path(path).suffix == ".svg" else None
        drawn.savefig(unfinished, dpi=DPI, metadata=metadata)
