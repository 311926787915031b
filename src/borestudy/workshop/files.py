"""A drawing as files: DXF for a lathe or another program, PDF and SVG for people."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.config import (
    BackgroundPolicy,
    ColorPolicy,
    Configuration,
    LineweightPolicy,
)
from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
from matplotlib import rc_context
from matplotlib.figure import Figure

from borestudy.drawing.style import MILLIMETRE, SETTINGS
from borestudy.files import replacing
from borestudy.workshop.sheet import SHEET, Sheet


def write_sheet(sheet: Sheet, path: Path) -> None:
    """Write a drawing whole or not at all to a file of one of `KINDS`.

    PDF and SVG are the same bytes for the same drawing; DXF holds the time of writing.
    """
    with replacing(path) as unfinished:
        if path.suffix == ".dxf":
            sheet.document.saveas(unfinished)
        else:
            _plot(sheet, unfinished, path.suffix[1:])


@contextmanager
def _same_chances() -> Iterator[None]:
    """Let ezdxf, which moves lines of hatching by chance and unseen, move them alike every time."""
    state = random.getstate()
    random.seed(0)
    try:
        yield
    finally:
        random.setstate(state)


def _plot(sheet: Sheet, path: Path, kind: str) -> None:
    with rc_context(SETTINGS):
        figure = Figure(figsize=(SHEET[0] * MILLIMETRE, SHEET[1] * MILLIMETRE))
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        settings = Configuration(
            background_policy=BackgroundPolicy.WHITE,
            color_policy=ColorPolicy.BLACK,
            lineweight_policy=LineweightPolicy.ABSOLUTE,
        )
        backend = MatplotlibBackend(axes, adjust_figure=False)
        frontend = Frontend(RenderContext(sheet.document), backend, config=settings)
        with _same_chances():
            frontend.draw_layout(sheet.document.modelspace(), finalize=True)
        left, bottom = sheet.corner
        axes.set_xlim(left, left + SHEET[0] / sheet.scale)
        axes.set_ylim(bottom, bottom + SHEET[1] / sheet.scale)
        date = "CreationDate" if kind == "pdf" else "Date"
        figure.savefig(path, format=kind, metadata={date: None})
