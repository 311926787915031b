"""Tones to listen to: two bores' sounds on the page, to be switched between at the same place.

The sounds stand in the page itself, which opens without a network.  So there is a bound to them:
of many bores there are those of the first, the darkest and the brightest.
"""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from borestudy.report.scripts import hash_of, own_script

#: As many letters of sounds a page holds at most, 6 bits a letter, and of as many bores all.
MOST_LETTERS, MOST_BORES = 3_200_000, 6


@dataclass(frozen=True, kw_only=True)
class BoreSounds:
    """A bore's sounds: WAV files by their levels, and the frequency [Hz] that says how bright the
    loudest is (the spectral centroid), None where it is not known."""

    label: str
    files: Mapping[str, Path]
    centroid: float | None = None

    @property
    def letters(self) -> int:
        """What the sounds take on the page."""
        return sum(4 * -(-path.stat().st_size // 3) for path in self.files.values())


@dataclass(frozen=True)
class Tone:
    """One sound on the page: the bore's number in the player, its words, the level, the address."""

    number: int
    label: str
    level: str
    address: str


@dataclass(frozen=True)
class Player:
    """What the page needs to let two bores be listened to; `note` says which are left out."""

    tones: Sequence[Tone]
    note: str = ""
    script: str = Markup(own_script("listening.js"))

    @property
    def bores(self) -> Mapping[int, str]:
        """Words of each bore by its number."""
        return {one.number: one.label for one in self.tones}

    @property
    def levels(self) -> list[str]:
        """Levels that any bore has, in their order."""
        return list(dict.fromkeys(one.level for one in self.tones))

    @property
    def hash(self) -> str:
        """What the page's policy knows the script by."""
        return hash_of(self.script)


def chosen(bores: Sequence[BoreSounds]) -> list[BoreSounds]:
    """The bores whose sounds the page holds, in their order: all, or the first and the extremes.

    Where those do not fit either, as many of them as do, the first before the brightest and that
    before the darkest.
    """
    if not bores or (len(bores) <= MOST_BORES and _letters(bores) <= MOST_LETTERS):
        return list(bores)
    known = [one for one in bores if one.centroid is not None]
    by_brightness = sorted(known, key=lambda one: one.centroid or 0.0)
    kept: list[BoreSounds] = []
    for one in (bores[0], *by_brightness[-1:], *by_brightness[:1]):
        if one not in kept and _letters([*kept, one]) <= MOST_LETTERS:
            kept.append(one)
    return [one for one in bores if one in kept]


def _letters(bores: Sequence[BoreSounds]) -> int:
    return sum(one.letters for one in bores)


def player_of(bores: Sequence[BoreSounds]) -> Player | None:
    """The player of a study's sounds; None where the page can hold none."""
    held = chosen([one for one in bores if one.files])
    if not held:
        return None
    tones = [
        Tone(number, one.label, level, _address(path))
        for number, one in enumerate(held)
        for level, path in one.files.items()
    ]
    note = ""
    if len(held) < len(bores):
        note = (
            f"Of {len(bores)} bores the page has the sounds of {len(held)}: the first, and as far "
            "as there is room the brightest and the darkest by their spectral centroid. "
            "Every bore’s WAV files are in its own folder."
        )
    return Player(tones, note)


def _address(path: Path) -> str:
    return f"data:audio/wav;base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"
