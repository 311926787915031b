"""The words that go with the figures, from ``templates/captions.toml``."""

import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from borestudy.drawing import style


@cache
def _captions() -> dict[str, dict[str, str]]:
    """All texts, by the figure's name and their own."""
    return tomllib.loads(
        files("borestudy.report").joinpath("templates/captions.toml").read_text("utf-8")
    )


def text(figure: str, name: str, **words: Any) -> str:
    """A text of a figure, with words in place of its braces."""
    return _captions()[figure][name].format(**words)


def save(drawing: Any, directory: Path, name: str, **words: Any) -> style.FigureRecord:
    """Write a figure's files, with the texts that it has in place of its braces' names."""
    title, caption, alt = (text(name, part, **words) for part in ("title", "caption", "alt"))
    return style.save(drawing, directory, name, title=title, caption=caption, alt=alt)
