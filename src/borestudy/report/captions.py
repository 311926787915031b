"""The words that go with figures and tables, from ``templates/captions.toml``."""

import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from borestudy.drawing import style


@cache
def _captions() -> dict[str, dict[str, str]]:
    """All texts, by the name of what they are of and their own."""
    return tomllib.loads(
        files("borestudy.report").joinpath("templates/captions.toml").read_text("utf-8")
    )


def figure_names() -> list[str]:
    """The names of all figures that have words."""
    return [name for name, texts in _captions().items() if "title" in texts]


def text(of: str, name: str, **words: Any) -> str:
    """A text of a figure or of the tables, with words in place of its braces."""
    return _captions()[of][name].format(**words)


def has_text(of: str, name: str) -> bool:
    """Whether there is a text of that name."""
    return name in _captions().get(of, {})


def save(
    drawing: Any, directory: Path, name: str, data: Any = None, **words: Any
) -> style.FigureRecord:
    """Write a figure's files, with the texts that it has in place of its braces' names."""
    title, caption, alt = (text(name, part, **words) for part in ("title", "caption", "alt"))
    return style.save(drawing, directory, name, title=title, caption=caption, alt=alt, data=data)
