"""How wide figures are, in which letters, and in which formats they are written."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

#: Height of the letters [pt] that sizes in the drawing functions are meant for, and the width of a
#: page's text [mm].
USUAL_PT, FULL_MM = 8.5, 170.0
#: Figures narrower than this have their panels one above the other [mm].
NARROW_MM = 120.0


@dataclass(frozen=True)
class Look:
    """Width of the figures [mm], their letters [pt] and font, and the endings of their files.

    The font is ``serif``, ``sans-serif``, ``monospace`` or the name of a family that is installed.
    Where `only` names figures, no other is written.
    """

    width_mm: float = FULL_MM
    size_pt: float = USUAL_PT
    font: str = "sans-serif"
    formats: tuple[str, ...] = ("svg", "png")
    only: tuple[str, ...] = ()


USUAL = Look()
_LOOK: ContextVar[Look] = ContextVar("look", default=USUAL)


def current() -> Look:
    """The look of the figures that are drawn now."""
    return _LOOK.get()


@contextmanager
def using(look: Look) -> Iterator[None]:
    """Draw figures of another look meanwhile."""
    before = _LOOK.set(look)
    try:
        yield
    finally:
        _LOOK.reset(before)


def width_mm() -> float:
    """Width of the figures [mm]."""
    return current().width_mm


def is_narrow() -> bool:
    """Whether figures are as narrow as a column of text."""
    return current().width_mm < NARROW_MM


def points(size: float) -> float:
    """A size of letters [pt] that is meant for the usual look, in this one."""
    return size * current().size_pt / USUAL_PT


def line_mm() -> float:
    """From one line of small letters to the next [mm]."""
    return points(3.9)


def lower(height_mm: float) -> float:
    """A height [mm] that suits the full width, in this one: half of it goes with the width."""
    return height_mm * (0.5 + 0.5 * current().width_mm / FULL_MM)
