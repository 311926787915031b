"""The outline that is meshed: a bore with joints where the mesh needs them, shortened.

Triangles are long where the flow changes along the bore more slowly than across it: the bore
downstream of a place is shortened, meshed with triangles of any shape the sizes ask
for, and the mesh is stretched to the bore's length.  A stretch along the axis is affine, so the
wall's curves stay what they are and so do the second-order triangles on them.
"""

from dataclasses import replace

import numpy as np

from borestudy.bore import Bore
from borestudy.mesh.presets import Preset
from borestudy.mesh.unmeshed import SHORTEST


def joint_near(bore: Bore, position: float) -> float:
    """A position along the axis [m], moved to a joint that is too near to be cut beside it."""
    ends = np.array([segment.stop[0] for segment in bore.segments])
    nearest = float(ends[np.argmin(np.abs(ends - position))])
    return nearest if abs(nearest - position) < SHORTEST else position


def shortened(bore: Bore, position: float, factor: float) -> Bore:
    """The bore with all that lies downstream of a joint [m] shorter by a factor."""

    def place(points: np.ndarray) -> np.ndarray:
        beyond = np.maximum(points[:, 0] - position, 0.0)
        return np.column_stack([points[:, 0] - beyond * (1 - 1 / factor), points[:, 1]])

    segments = [replace(segment, points=place(segment.points)) for segment in bore.segments]
    return Bore(segments, bore.entry)


def joined_where_oblique(bore: Bore, greatest_angle: float) -> Bore:
    """The same bore with parts joined, under the later one's name, where the wall is steep.

    A boundary-layer mesh ends well on a line straight across the bore only where the wall meets it
    at nearly a right angle [rad]; at a sharp edge the line would cut through the corner fan.
    """
    names = [bore.segments[-1].part]
    for segment, after in zip(bore.segments[-2::-1], bore.segments[:0:-1], strict=True):
        slopes = [np.arctan2(r, x) for x, r in (segment.tangent(1.0), after.tangent(0.0))]
        joined = segment.part == after.part or np.abs(slopes).max() > greatest_angle
        names.append(names[-1] if joined else segment.part)
    pairs = zip(bore.segments, reversed(names), strict=True)
    return Bore([segment.named(name) for segment, name in pairs], bore.entry)


def boundary_layer_fits(bore: Bore, preset: Preset) -> bool:
    """Whether the boundary-layer mesh has room in every inner corner.

    It has none at a step of the wall that is lower than the mesh is thick; a preset without a
    boundary-layer mesh fits every bore.
    """
    if preset.layer is None:
        return True
    thickness = preset.layer.thickness * 2 * bore.throat_radius
    return all(
        min(before.arc_length(), after.arc_length()) > thickness
        for before, after, turn in zip(bore.segments, bore.segments[1:], bore.turns, strict=False)
        if turn < -preset.blunt_angle
    )
