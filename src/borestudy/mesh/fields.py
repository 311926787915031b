"""The size of triangles as a function of place, as gmsh's fields."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from borestudy.bore import Bore
from borestudy.bore.bore import CORNER_ANGLE
from borestudy.mesh.calls import Tag
from borestudy.mesh.presets import Preset

#: Coarser than any size in use: where a field leaves the size to others.
FREE = 1.0
#: Points on which gmsh takes the distance to a curve.
SAMPLES = 400
#: Radii between which flow that leaves a sharp edge shears along the throat [throat diameters].
THROAT_LAYER = (0.28, 0.6)
#: How far behind the throat the jet's shear layer is refined, and between which radii
#: [throat diameters].
JET_REACH, JET_RADII = 10.0, (0.35, 0.6)
#: Behind that the layer is thicker: twice the size, as far as this.
FAR_JET_REACH, FAR_JET_RADII = 25.0, (0.25, 0.75)
#: Size of triangles in an inner corner over the length on which the rows along its two walls cross,
#: and at most this share of the shorter of the walls.
CORNER_ROOM, CORNER_SHARE = 1.3, 0.35
#: A size that no other is smaller than.
NOTHING = 1e-6


def background_field(
    gmsh: Any,
    bore: Bore,
    turns: Sequence[float],
    wall: dict[str, list[Tag]],
    preset: Preset,
    unit: float,
) -> None:
    """Set the background field: at each place the smallest of all sizes wanted there.

    Parameters
    ----------
    gmsh : Calls
        With the bore in its model.
    bore : Bore
        The same bore.
    turns : sequence of float
        By how much the real wall turns at the end of each of its segments but the last [rad].
    wall : dict
        Tags of its points and curves.
    preset : Preset
        Sizes relative to ``unit``.
    unit : float
        What a size of 1 is [m]; distances stay in throat diameters.
    """
    diameter = 2 * bore.throat_radius
    field = gmsh.model.mesh.field

    def near(kind: str, tags: list[Tag], size: float, growth: float) -> Tag:
        """Grow from a size at points or curves to `FREE` far from them."""
        distance = field.add("Distance")
        field.setNumbers(distance, kind, tags)
        field.setNumber(distance, "Sampling", SAMPLES)
        threshold = field.add("Threshold")
        field.setNumber(threshold, "InField", distance)
        for name, value in (
            ("SizeMin", size * unit),
            ("SizeMax", FREE * unit),
            ("DistMin", size * unit),
            ("DistMax", size * unit + (FREE - size) * unit / growth),
        ):
            field.setNumber(threshold, name, value)
        return threshold

    def within(size: float, x: tuple[float, float], r: tuple[float, float], growth: float) -> Tag:
        """A size inside a box [m], growing outside."""
        box = field.add("Box")
        for name, value in (
            ("VIn", size * unit),
            ("VOut", FREE * unit),
            ("XMin", x[0]),
            ("XMax", x[1]),
            ("YMin", r[0]),
            ("YMax", r[1]),
            ("Thickness", FREE * unit / growth),
        ):
            field.setNumber(box, name, value)
        return box

    head = bore.part_ranges.get("entry", (bore.throat_start, 0.0))[0]
    start, end = head, bore.throat_end
    along_throat = (start - 0.1 * diameter, end + 0.1 * diameter)
    throat_layer = _scaled(THROAT_LAYER, diameter)
    fields = [
        _bulk(gmsh, preset, unit, diameter, head),
        within(preset.throat, along_throat, (0.0, 0.6 * diameter), preset.growth),
        within(preset.throat_layer, along_throat, throat_layer, preset.growth),
    ]
    if preset.jet is not None and "backbore" in bore.parts:
        radii, reach = _scaled(JET_RADII, diameter), end + _drawn(JET_REACH, preset) * diameter
        fields.append(within(preset.jet, (end, reach), radii, preset.jet_growth))
        far = end + _drawn(FAR_JET_REACH, preset) * diameter
        radii = _scaled(FAR_JET_RADII, diameter)
        fields.append(within(2 * preset.jet, (reach, far), radii, preset.jet_growth))
    # One field for all curves of a size: gmsh asks each field everywhere.
    walls: dict[float, list[Tag]] = {}
    for segment, curve in zip(bore.segments, wall["curves"], strict=True):
        size = preset.throat_wall
        if segment.part == "cup":
            # A measured bore's entry is made of the cup's last stretches.
            before = (head - segment.start[0]) / diameter
            size = min(preset.cup_wall, size + preset.cup_wall_growth * before)
        if segment.part == "entry":
            # An arc is as short as its radius: some triangles along it, however small it is.
            size = min(size, preset.entry_arc * segment.arc_length() / diameter)
        if segment.part in ("cup", "entry", "throat"):
            walls.setdefault(size, []).append(curve)
        elif preset.backbore_wall is not None:
            walls.setdefault(preset.backbore_wall, []).append(curve)
    fields += [near("CurvesList", curves, size, preset.growth) for size, curves in walls.items()]
    for index, (segment, turn) in enumerate(zip(bore.segments, turns, strict=False)):
        point = wall["points"][index + 1 : index + 2]
        if turn > preset.blunt_angle:
            fields.append(near("PointsList", point, preset.edge, preset.edge_growth))
        elif segment.part == "throat" and turn > CORNER_ANGLE:
            fields.append(near("PointsList", point, preset.throat_end, preset.growth))
    if "cup" not in bore.parts:
        fields.append(near("PointsList", wall["points"][:1], preset.throat_end, preset.growth))
    size = field.add("Min")
    field.setNumbers(size, "FieldsList", fields)
    room = _room_in_corners(gmsh, bore, turns, wall, preset)
    if room:
        least, size = size, field.add("Max")
        field.setNumbers(size, "FieldsList", [least, *room])
    field.setAsBackgroundMesh(size)


def _room_in_corners(
    gmsh: Any,
    bore: Bore,
    turns: Sequence[float],
    wall: dict[str, list[Tag]],
    preset: Preset,
) -> list[Tag]:
    """Least sizes in inner corners, where the rows along both walls would run into each other."""
    if preset.layer is None:
        return []
    field, fields = gmsh.model.mesh.field, []
    for index, turn in enumerate(turns):
        if turn > -preset.blunt_angle:
            continue
        neighbours = bore.segments[index : index + 2]
        shortest = min(segment.arc_length() for segment in neighbours)
        rows = preset.layer.thickness * 2 * bore.throat_radius * np.tan(-turn / 2)
        size = min(CORNER_ROOM * rows, CORNER_SHARE * shortest)
        distance = field.add("Distance")
        field.setNumbers(distance, "PointsList", wall["points"][index + 1 : index + 2])
        threshold = field.add("Threshold")
        field.setNumber(threshold, "InField", distance)
        for name, value in (
            ("SizeMin", size),
            ("SizeMax", NOTHING * size),
            ("DistMin", size),
            ("DistMax", 2 * size),
        ):
            field.setNumber(threshold, name, value)
        fields.append(threshold)
    return fields


def _scaled(shares: tuple[float, float], diameter: float) -> tuple[float, float]:
    return shares[0] * diameter, shares[1] * diameter


def _drawn(reach: float, preset: Preset) -> float:
    """Length behind the throat of the bore as it is drawn: shortened where triangles are long."""
    near = min(reach, preset.stretch_from)
    return near + (reach - near) / preset.stretch


def _bulk(gmsh: Any, preset: Preset, unit: float, diameter: float, head: float) -> Tag:
    """Size away from walls and edges: wider backbore and nearer the rim is coarser."""
    field = gmsh.model.mesh.field
    wider = f"min(1,max(0,(y-{0.6 * diameter})/{0.4 * diameter}))"
    size = f"{preset.narrow * unit}+{(preset.wide - preset.narrow) * unit}*{wider}"
    if head > 0:
        size += f"+{preset.cup * unit}*max(0,1-x/{head})"
    bulk = field.add("MathEval")
    field.setString(bulk, "F", size)
    return bulk


def wall_layer(
    gmsh: Any,
    diameter: float,
    turns: Sequence[float],
    wall: dict[str, list[Tag]],
    preset: Preset,
    unit: float,
    lines: list[int],
) -> None:
    """Rows of flat triangles along the whole wall, in a fan round each sharp edge.

    Parameters
    ----------
    gmsh, turns, wall, preset, unit
        As for :func:`background_field`.
    diameter : float
        Of the throat [m].
    lines : list of int
        Indices of the wall's points from which lines cross the bore: the rows end on each.
    """
    layer = preset.layer
    if layer is None:
        return
    field = gmsh.model.mesh.field
    sharp = [
        wall["points"][index + 1] for index, turn in enumerate(turns) if turn > preset.blunt_angle
    ]
    rows = field.add("BoundaryLayer")
    field.setNumbers(rows, "CurvesList", wall["curves"])
    field.setNumbers(rows, "PointsList", [wall["points"][index] for index in lines])
    if sharp:
        field.setNumbers(rows, "FanPointsList", sharp)
        fan = max(2, round(layer.fan * diameter / unit))
        field.setNumbers(rows, "FanPointsSizesList", [fan] * len(sharp))
    for name, value in (
        ("Size", layer.first * unit),
        # finer levels grow more slowly, so that every row is divided alike
        ("Ratio", layer.growth ** (unit / diameter)),
        ("Thickness", layer.thickness * diameter),
        ("Quads", 0),
    ):
        field.setNumber(rows, name, value)
    field.setAsBoundaryLayer(rows)
