"""A case's bore and its meshes."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from borestudy.bore import Bore, Dimension, Entry, Segment, describe
from borestudy.bore.measured.record import MeasurementRecord
from borestudy.bore.variation import Piece
from borestudy.files import read_json, write_json
from borestudy.mesh import ACOUSTICS, Preset, UnmeshedError, write_mesh, write_meshes
from borestudy.mesh.outline import joint_near
from borestudy.mesh.unmeshed import mark_unmeshed
from borestudy.records import SCHEMA_KEY, SCHEMA_VERSION, to_plain, write_record

logger = logging.getLogger(__name__)


def mesh_stage(
    bore: Bore,
    resolution: str,
    acoustics: Sequence[Path | str],
    halves: Sequence[Path | str],
) -> None:
    """Write a case's acoustic meshes, coarsest first, and its halves', or why there are none."""
    preset = ACOUSTICS.at(resolution)
    for paths, write in ((acoustics, write_meshes), (halves, write_halves)):
        try:
            write(bore, paths, preset)
        except UnmeshedError as problem:
            logger.warning("%s", problem)
            mark_unmeshed(paths, str(problem))


def write_halves(bore: Bore, paths: Sequence[Path | str], preset: Preset) -> None:
    """Write the finest meshes of the bore before and after the middle of its throat."""
    middle = joint_near(bore, (bore.throat_start + bore.throat_end) / 2)
    for half, path in zip(bore.cut(middle), paths, strict=True):
        write_mesh(half, path, preset, preset.finest)


def write_bore(bore: Bore, path: Path | str, doubts: Sequence[str] = ()) -> None:
    """Write a bore's sizes and doubtful stations, and its exact segments for `read_bore`."""
    segments = [_written(segment) for segment in bore.segments]
    asked = bore.entry
    entry = asked and {"shape": asked.shape, "sizes_m": asked.sizes, "angle_rad": asked.angle}
    facts = to_plain(replace(describe(bore), doubtful_stations=tuple(doubts)))
    exact = {"segments": segments, "entry_asked_for": entry}
    write_json(path, {SCHEMA_KEY: SCHEMA_VERSION} | facts | exact)


def write_measurement(found: MeasurementRecord | None, paths: Sequence[Path | str]) -> None:
    """Write what was found in the file of a measured bore; no path of one from dimensions."""
    for path in paths:
        write_record(path, found)


def read_bore(path: Path | str) -> Bore:
    """The bore that `write_bore` wrote."""
    geometry = read_json(path)
    segments = [_read(piece) for piece in geometry["segments"]]
    asked = geometry["entry_asked_for"]
    entry = asked and Entry(asked["shape"], tuple(asked["sizes_m"]), asked["angle_rad"])
    return Bore(segments, entry)


def write_dimensions(dimensions: Sequence[Dimension], path: Path | str) -> None:
    """Write a bore's dimensions and how the wall moves with each, for `read_dimensions`."""
    listed = [
        {
            "key": one.key,
            "label": one.label,
            "unit": one.unit,
            "value_SI": one.value,
            "position_m": one.position,
            "pieces": [
                {
                    "number": number,
                    "segment": _written(piece.segment),
                    "points_by_dimension": piece.points,
                    "weights_by_dimension": piece.weights,
                }
                for number, piece in one.pieces.items()
            ],
        }
        for one in dimensions
    ]
    write_json(path, {SCHEMA_KEY: SCHEMA_VERSION, "dimensions": listed})


def read_dimensions(path: Path | str) -> list[Dimension]:
    """The dimensions that `write_dimensions` wrote."""
    return [
        Dimension(
            key=one["key"],
            label=one["label"],
            unit=one["unit"],
            value=one["value_SI"],
            pieces={
                piece["number"]: Piece(
                    _read(piece["segment"]),
                    np.array(piece["points_by_dimension"]),
                    np.array(piece["weights_by_dimension"]),
                )
                for piece in one["pieces"]
            },
            position=one["position_m"],
        )
        for one in read_json(path)["dimensions"]
    ]


def _written(segment: Segment) -> dict[str, Any]:
    return {"part": segment.part, "points_m": segment.points, "weights": segment.weights}


def _read(piece: Mapping[str, Any]) -> Segment:
    return Segment(np.array(piece["points_m"]), np.array(piece["weights"]), piece["part"])
