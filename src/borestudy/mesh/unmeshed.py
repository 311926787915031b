"""Bores without a mesh: how they are refused, and the file that stands where a mesh should be.

With such a file a case that gmsh finds no mesh for becomes results that say so, and the others go
on.
"""

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from borestudy.bore import Bore
from borestudy.mesh.presets import LAMINAR

#: Shortest stretch of the wall [m].  gmsh's geometry holds points closer than 1e-7 m for one, and
#: the mesh of the flow is drawn `LAMINAR.stretch` times shorter.
SHORTEST = 1e-6
#: Most stretches, and most edges that turn by more than `Preset.blunt_angle`, each of which is
#: refined on its own.
MOST_STRETCHES, MOST_EDGES = 1000, 200
#: First words of a file that says why there is no mesh; no mesh begins so.
MARK = "not meshed: "


class MeshError(RuntimeError):
    """A mesh that could not be made."""


class UnmeshedError(MeshError):
    """A bore that has no mesh, where others may have one."""


class EndedError(RuntimeError):
    """gmsh was ended from outside, which tells nothing of the bore: it may be tried again."""


def refuse_unmeshable(bore: Bore) -> None:
    """Refuse a case's whole bore that is drawn finer than any mesh.

    Raises
    ------
    UnmeshedError
        Naming what was found, what is allowed and an example.
    """
    for segment in bore.segments:
        length = float(np.linalg.norm(segment.stop - segment.start))
        if length < SHORTEST:
            raise UnmeshedError(
                f"found a stretch of the wall {1e3 * length:.3g} mm long at "
                f"{1e3 * segment.start[0]:.6g} mm; allowed is {1e3 * SHORTEST:g} mm or longer, for "
                "example two stations at one position, which make a step"
            )
    for part, (start, stop) in bore.part_ranges.items():
        # Its ends are joints of the wall and points of the axis as well.
        if stop - start < SHORTEST:
            raise UnmeshedError(
                f"found a {part} {1e3 * (stop - start):.3g} mm long; allowed is "
                f"{1e3 * SHORTEST:g} mm or longer, for example 5 mm"
            )
    edges = sum(abs(turn) > LAMINAR.blunt_angle for turn in bore.turns)
    angle = f"{np.degrees(LAMINAR.blunt_angle):.0f}°"
    for number, most, what in (
        (len(bore.segments), MOST_STRETCHES, "stretches of the wall"),
        (edges, MOST_EDGES, f"edges that turn by more than {angle}"),
    ):
        if number > most:
            raise UnmeshedError(
                f"found {number} {what}; allowed are {most}, for example one "
                f"station in {np.ceil(number / most):.0f}, or the mean of as many neighbours where "
                "readings scatter"
            )


def mark_unmeshed(paths: Iterable[Path | str], reason: str) -> None:
    """Put a reason where files should be."""
    for path in map(Path, paths):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{MARK}{reason}\n", encoding="utf-8")


def why_unmeshed(*paths: Path | str) -> str | None:
    """The reason in the first of these files that holds one; None where each is what it should."""
    for path in paths:
        with open(path, "rb") as stream:
            if stream.read(len(MARK)) == MARK.encode():
                return stream.read().decode().strip()
    return None
