"""A case's bore and its meshes."""

import logging
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.bore import Bore, Entry, Segment, describe
from borestudy.mesh import (
    ACOUSTICS,
    FLOW,
    UnmeshedError,
    joint_near,
    mark_unmeshed,
    write_mesh,
)
from borestudy.provenance import read_json, write_json

logger = logging.getLogger(__name__)

#: Mesh level of each word of ``mesh.resolution``: the finest one a case is solved on.
FINEST_LEVEL = {"coarse": 0, "medium": 1, "fine": 2}
#: How many levels each physics is solved on, the finest and those below it.
ACOUSTIC_LEVELS, FLOW_LEVELS = 3, 2
#: Finer levels of the flow, for rates whose pressure drop the others do not give to the tolerance.
FLOW_REFINEMENTS = 1


def levels_up_to(finest: int, count: int) -> range:
    """The ``count`` levels that end with the finest, coarsest first."""
    return range(finest - count + 1, finest + 1)


def write_meshes(
    bore: Bore,
    finest: int,
    acoustics: Sequence[Path | str],
    flow: Sequence[Path | str],
    pipe_behind: float = 0.0,
) -> None:
    """Mesh a bore on every level of both physics.

    Parameters
    ----------
    bore : Bore
        What is meshed.
    finest : int
        The level that the study asks for, for the last file of the acoustics.
    acoustics, flow : sequence of path
        Files to write, coarsest first; as many as there are levels.  Those of the flow begin at
        the level below the finest, whatever their number.
    pipe_behind : float
        Length [m] of a straight pipe that the flow, and the flow alone, has behind the shank.
    """
    for level, path in zip(levels_up_to(finest, len(acoustics)), acoustics, strict=True):
        write_mesh(bore, path, ACOUSTICS, level)
    flow_bore = bore.extended(pipe_behind) if pipe_behind else bore
    for level, path in enumerate(flow, start=finest - FLOW_LEVELS + 1):
        write_mesh(flow_bore, path, FLOW, level)


def mesh_stage(
    bore: Bore,
    finest: int,
    acoustics: Sequence[Path | str],
    flow: Sequence[Path | str],
    halves: Sequence[Path | str],
    pipe_behind: float = 0.0,
) -> None:
    """Write all meshes of a case; those for a physics that has none say why.

    Parameters
    ----------
    bore, finest, acoustics, flow, pipe_behind
        As for `write_meshes`.
    halves : sequence of path
        As for `write_halves`.
    """
    for paths, write in (
        (acoustics, lambda: write_meshes(bore, finest, acoustics, [])),
        (flow, lambda: write_meshes(bore, finest, [], flow, pipe_behind)),
        (halves, lambda: write_halves(bore, finest, halves)),
    ):
        try:
            write()
        except UnmeshedError as problem:
            logger.warning("%s", problem)
            mark_unmeshed(paths, str(problem))


def write_halves(bore: Bore, finest: int, paths: Sequence[Path | str]) -> None:
    """Mesh the bore before and behind the middle of its throat, for the acoustics.

    Parameters
    ----------
    bore : Bore
        What is cut.
    finest : int
        Level of both meshes.
    paths : sequence of path
        Files of the front and the back half.
    """
    middle = joint_near(bore, (bore.throat_start + bore.throat_end) / 2)
    for half, path in zip(bore.cut(middle), paths, strict=True):
        write_mesh(half, path, ACOUSTICS, finest)


def write_bore(bore: Bore, path: Path | str, doubts: Sequence[str] = ()) -> None:
    """Write a bore's dimensions and volumes, and its exact segments for `read_bore`.

    Parameters
    ----------
    bore : Bore
        What is written.
    path : path
        File to write.
    doubts : sequence of str
        What is to be said of the stations it was made from.
    """
    segments = [
        {
            "part": segment.part,
            "points_m": np.asarray(segment.points),
            "weights": np.asarray(segment.weights),
        }
        for segment in bore.segments
    ]
    entry = None
    if bore.entry is not None:
        entry = {
            "shape": bore.entry.shape,
            "sizes_m": bore.entry.sizes,
            "angle_rad": bore.entry.angle,
        }
    facts = describe(bore) | {"doubtful_stations": list(doubts)}
    write_json(path, facts | {"segments": segments, "entry_asked_for": entry})


def read_bore(path: Path | str) -> Bore:
    """The bore that `write_bore` wrote."""
    return bore_of(read_json(path))


def bore_of(geometry: Mapping[str, Any]) -> Bore:
    """The bore of what `write_bore` wrote."""
    segments = [
        Segment(np.array(entry["points_m"]), np.array(entry["weights"]), entry["part"])
        for entry in geometry["segments"]
    ]
    asked = geometry["entry_asked_for"]
    entry = asked and Entry(asked["shape"], tuple(asked["sizes_m"]), asked["angle_rad"])
    return Bore(segments, entry)
