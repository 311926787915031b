"""The closure's entry loss over the span of the handbooks."""

import re
from collections.abc import Sequence
from pathlib import Path

from matplotlib import rc_context
from matplotlib.figure import Figure

from borestudy.compare.check import Check

from .style import COLOURS, FULL_WIDTH, GREY, MARKERS, SETTINGS

NAME = re.compile(r"r/D ([\d.]+), Re (\d+)")


def draw_entry_losses(checks: Sequence[Check], folder: Path) -> None:
    """Loss coefficient against r/D, a line a Reynolds number, as ``entry_losses.svg``.

    Parameters
    ----------
    checks : sequence of Check
        Of the entries; each one's reference is the middle of the handbooks' span and its
        tolerance half of it, with the margin that is granted.
    folder : Path
        Where the figure goes.
    """
    lines: dict[str, list[tuple[float, Check]]] = {}
    for check in checks:
        found = NAME.search(check.check)
        if found:
            lines.setdefault(found[2], []).append((float(found[1]), check))
    folder.mkdir(parents=True, exist_ok=True)
    with rc_context(SETTINGS):
        figure = Figure(figsize=(FULL_WIDTH, 0.5 * FULL_WIDTH), layout="constrained")
        axes = figure.subplots()
        radii = [radius for radius, _ in next(iter(lines.values()))]
        spans = [check for _, check in next(iter(lines.values()))]
        half = [check.tolerance_percent / 100 * check.reference for check in spans]
        axes.fill_between(
            radii,
            [check.reference - width for check, width in zip(spans, half, strict=True)],
            [check.reference + width for check, width in zip(spans, half, strict=True)],
            color=GREY,
            alpha=0.2,
            label="handbooks, least to greatest, ± 0.03",
        )
        for index, (reynolds, points) in enumerate(lines.items()):
            axes.plot(
                [radius for radius, _ in points],
                [check.computed for _, check in points],
                color=COLOURS[index],
                marker=MARKERS[index],
                label=f"computed, Reynolds number {reynolds}",
            )
        axes.set_xlabel("radius of the throat entry / throat diameter")
        axes.set_ylabel("loss coefficient of the entry")
        axes.set_ylim(bottom=0)
        axes.legend()
        figure.savefig(folder / "entry_losses.svg", metadata={"Date": None})
