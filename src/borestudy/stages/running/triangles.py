"""How many triangles a bore's mesh has, as it is expected before it is made.

Equilateral triangles of size h number 4/(√3 h²) a unit of area.  Along a wall or a layer the size
grows with the distance d from it, h = s + g d, and a unit of its length takes 4/√3 ∫ dd/h².
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from borestudy.bore import Bore
from borestudy.mesh import Preset
from borestudy.mesh.sizes import FAR_JET_RADII, FAR_JET_REACH, FREE, JET_RADII, JET_REACH

#: Triangles in the square of a triangle's size.
IN_A_SQUARE = 4 / 3**0.5
#: Air round an edge that points into it [rad].
ROUND_AN_EDGE = 1.5 * np.pi
#: A radius that is within the layer of the throat's wall [throat diameters].
THROAT_LAYER_FROM = 0.28


class Stretch(NamedTuple):
    """A segment of the wall: its part, lengths along axis and wall, middle [throat diameters]."""

    part: str
    along: float
    length: float
    middle: float
    radius: float
    turn: float


def expected_triangles(bore: Bore, preset: Preset, level: int) -> float:
    """Number of triangles of a bore's mesh, from the sizes that its preset asks for.

    Summed are those in the air between the walls, along the walls, round sharp edges, along the
    jet, and the rows of cells of a boundary-layer mesh.  Sizes that are asked for at one place
    count twice where they overlap.

    Parameters
    ----------
    bore : Bore
        Bore to be meshed.
    preset : Preset
        Sizes, at the resolution wanted.
    level : int
        Which of its meshes, 0 the coarsest.

    Returns
    -------
    float
        Between 0.4 and 1.2 of what gmsh makes of the bores of the shipped studies.
    """
    unit = preset.unit(level)
    far = bore.throat_end / (2 * bore.throat_radius) + preset.stretch_from
    plain = edges = rows = 0.0
    for piece in _stretches(bore):
        inside, wall = _sizes(preset, piece)
        count = IN_A_SQUARE * piece.along * piece.radius / inside**2
        if piece.part in ("throat", "entry"):
            layer = max(piece.radius - THROAT_LAYER_FROM, 0.0)
            count += IN_A_SQUARE * piece.along * layer / preset.throat_layer**2
        if wall < inside:
            reach = min((inside - wall) / preset.growth, piece.radius)
            count += piece.length * _beside(wall, preset.growth, reach)
        stretch = preset.stretch if piece.middle > far else 1.0
        plain += count / stretch
        rows += 2 * piece.length / min(wall, inside) / stretch
        if piece.turn > preset.blunt_angle:
            edges += _round_an_edge(preset, unit)
    if preset.jet is not None and "backbore" in bore.parts:
        plain += _along_jet(preset, (bore.length - bore.throat_end) / (2 * bore.throat_radius))
    return float(plain / unit**2 + edges + _layer_rows(preset, unit) * rows / unit)


def _stretches(bore: Bore) -> Iterator[Stretch]:
    """The bore's segments as their chords and control polygons have them, which costs no time."""
    diameter = 2 * bore.throat_radius
    polygons = [segment.points / diameter for segment in bore.segments]
    before = [np.arctan2(*(points[-1] - points[-2])[::-1]) for points in polygons]
    after = [np.arctan2(*(points[1] - points[0])[::-1]) for points in polygons]
    turns = [*(b - a for a, b in zip(before, after[1:], strict=False)), 0.0]
    for segment, points, turn in zip(bore.segments, polygons, turns, strict=True):
        steps = np.diff(points, axis=0)
        (x, r), (along, _) = points.mean(axis=0), points[-1] - points[0]
        yield Stretch(segment.part, along, np.hypot(*steps.T).sum(), x, r, turn)


def _sizes(preset: Preset, piece: Stretch) -> tuple[float, float]:
    """Sizes in the air inside a stretch and along its wall, as `SizeFields` has them."""
    if piece.part in ("throat", "entry"):
        arc = preset.entry_arc * piece.length if piece.part == "entry" else FREE
        return preset.throat, min(preset.throat_wall, arc)
    wider = min(1.0, max(0.0, (piece.radius - 0.6) / 0.4))
    inside = preset.narrow + (preset.wide - preset.narrow) * wider
    if piece.part == "cup":
        return inside + preset.cup / 2, preset.cup_wall
    return inside, preset.backbore_wall or FREE


def _beside(size: float, growth: float, reach: float) -> float:
    """Triangles a unit of length of a line, out to a distance: 4/√3 ∫ dd/(s + g d)²."""
    return IN_A_SQUARE * reach / (size * (size + growth * reach))


def _round_an_edge(preset: Preset, unit: float) -> float:
    """Triangles round a sharp edge, ∫ 3π/2 d dd 4/(√3 h²), out to half a throat diameter."""
    ratio = 1 + preset.edge_growth * 0.5 / (unit * preset.edge)
    integral = (np.log(ratio) + 1 / ratio - 1) / preset.edge_growth**2
    return float(ROUND_AN_EDGE * IN_A_SQUARE * integral)


def _along_jet(preset: Preset, backbore: float) -> float:
    """Triangles in the shear layer between the jet and the air around it, near and far."""
    count, begin, size = 0.0, 0.0, preset.jet or FREE
    for reach, (inner, outer) in ((JET_REACH, JET_RADII), (FAR_JET_REACH, FAR_JET_RADII)):
        length = max(min(reach, backbore) - begin, 0.0)
        across = IN_A_SQUARE * (outer - inner) / size**2 + _beside(size, preset.jet_growth, inner)
        count, begin, size = count + length * across, reach, 2 * size
    return count / preset.stretch


def _layer_rows(preset: Preset, unit: float) -> float:
    """Number of rows of a boundary-layer mesh, each of a height so many times the last's."""
    if preset.layer is None:
        return 0.0
    ratio = preset.layer.growth**unit
    total = 1 + preset.layer.thickness * (ratio - 1) / (preset.layer.first_height * unit)
    return float(np.log(total) / np.log(ratio))
