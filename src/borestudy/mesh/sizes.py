"""The size of triangles as a function of place, as gmsh's fields."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from borestudy.bore import Bore, Segment
from borestudy.bore.bore import CORNER_ANGLE
from borestudy.mesh.presets import Preset
from borestudy.mesh.run import Tag

#: Coarser than any size in use: where a field leaves the size to others.
FREE = 1.0
#: Points on which gmsh takes the distance to a curve.
SAMPLES = 400
#: Radii between which flow that leaves a sharp edge shears along the throat [throat diameters].
THROAT_LAYER = (0.28, 0.6)
#: How far downstream of the throat the jet's shear layer is refined, and between which radii
#: [throat diameters].
JET_REACH, JET_RADII = 10.0, (0.35, 0.6)
#: Further downstream the layer is thicker: twice the size, as far as this.
FAR_JET_REACH, FAR_JET_RADII = 25.0, (0.25, 0.75)
#: Size of triangles in an inner corner over the length on which the boundary-layer meshes along its
#: two walls cross, and at most this share of the shorter of the walls.
CORNER_ROOM, CORNER_SHARE = 1.3, 0.35
#: Points on a wall that its bend is taken from, and the steps in which sizes are taken there.
BEND_SAMPLES, SIZE_STEP = 17, 1.1
#: A size that no other is smaller than.
NOTHING = 1e-6


@dataclass
class SizeFields:
    """gmsh's fields of sizes for one bore."""

    #: gmsh's own functions for fields, with the bore in its model.
    field: Any
    #: The bore as it is drawn.
    bore: Bore
    #: Angle by which the real wall turns at the end of each of its segments but the last [rad].
    turns: Sequence[float]
    #: Tags of the wall's points from the rim plane on, and of its segments.
    points: list[Tag]
    curves: list[Tag]
    #: Sizes relative to `unit`, which is what a size of 1 is [m].
    preset: Preset
    unit: float

    @property
    def diameter(self) -> float:
        """The throat's diameter, in which distances are given [m]."""
        return 2 * self.bore.throat_radius

    def set_background(self) -> None:
        """Set the background field: at each place the smallest of all sizes wanted there."""
        size = self._joined("Min", [*self._inside(), *self._along_wall(), *self._at_edges()])
        room = self._room_in_corners()
        self.field.setAsBackgroundMesh(self._joined("Max", [size, *room]) if room else size)

    def set_boundary_layer(self) -> None:
        """Set the boundary-layer mesh along the whole wall, with a fan round each sharp edge.

        The mesh ends on each line that crosses the bore: the rim plane and the ends of parts.
        """
        layer, blunt, points = self.preset.layer, self.preset.blunt_angle, self.points
        if layer is None:
            return
        ends = {segment.part: index + 1 for index, segment in enumerate(self.bore.segments)}
        sharp = [points[i + 1] for i, turn in enumerate(self.turns) if turn > blunt]
        fan = max(2, round(layer.fan * self.diameter / self.unit))
        crossed = [points[i] for i in (0, *ends.values())]
        tags: dict[str, list[Any]] = {"CurvesList": self.curves, "PointsList": crossed}
        if sharp:
            tags |= {"FanPointsList": sharp, "FanPointsSizesList": [fan for _ in sharp]}
        # Finer levels grow more slowly, so that every row of cells is divided alike.
        ratio = layer.growth ** (self.unit / self.diameter)
        found = self._add("BoundaryLayer", tags, Size=layer.first_height * self.unit, Ratio=ratio,
                          Thickness=layer.thickness * self.diameter, Quads=0)  # fmt: skip
        self.field.setAsBoundaryLayer(found)

    @property
    def _head(self) -> float:
        """Where the entry begins, or the throat without one [m]."""
        return self.bore.part_ranges.get("entry", (self.bore.throat_start, 0.0))[0]

    def _inside(self) -> list[Tag]:
        """Sizes away from the wall: in the bulk, in the throat and along the jet."""
        preset, diameter, end = self.preset, self.diameter, self.bore.throat_end
        throat = (self._head - 0.1 * diameter, end + 0.1 * diameter)
        fields = [
            self._bulk(),
            self._within(preset.throat, throat, (0.0, 0.6), preset.growth),
            self._within(preset.throat_layer, throat, THROAT_LAYER, preset.growth),
        ]
        if preset.jet is not None and "backbore" in self.bore.parts:
            near, far = (end + self._drawn(r) * diameter for r in (JET_REACH, FAR_JET_REACH))
            fields += [
                self._within(preset.jet, (end, near), JET_RADII, preset.jet_growth),
                self._within(2 * preset.jet, (near, far), FAR_JET_RADII, preset.jet_growth),
            ]
        return fields

    def _bulk(self) -> Tag:
        """Size away from walls and edges: coarser in a wide backbore and near the rim plane."""
        preset, unit = self.preset, self.unit
        wider = f"min(1,max(0,(y-{0.6 * self.diameter})/{0.4 * self.diameter}))"
        size = f"{preset.narrow * unit}+{(preset.wide - preset.narrow) * unit}*{wider}"
        if self._head > 0:
            size += f"+{preset.cup * unit}*max(0,1-x/{self._head})"
        bulk = self.field.add("MathEval")
        self.field.setString(bulk, "F", size)
        return bulk

    def _along_wall(self) -> list[Tag]:
        """Sizes along the wall, one field for all curves of a size: gmsh asks each everywhere."""
        preset, walls = self.preset, dict[float, list[Tag]]()
        for segment, curve in zip(self.bore.segments, self.curves, strict=True):
            size = preset.throat_wall
            if segment.part == "cup":
                # A measured bore's entry is made of the cup's last stretches.
                before = (self._head - segment.start[0]) / self.diameter
                size = min(preset.cup_wall, size + preset.cup_wall_growth * before)
            if segment.part == "entry":
                # An arc is as short as its radius: some triangles along it, however small it is.
                size = min(size, preset.entry_arc * segment.arc_length() / self.diameter)
            if segment.part not in ("cup", "entry", "throat"):
                if preset.backbore_wall is None:
                    continue
                size = preset.backbore_wall
            walls.setdefault(min(size, self._bend(segment)), []).append(curve)
        return [
            self._near("CurvesList", curves, size, preset.growth) for size, curves in walls.items()
        ]

    def _bend(self, segment: Segment) -> float:
        """Greatest size along a wall that bends into the air, for the first row of flat cells.

        The middle of a cell's side that follows the wall lies h²/8R beside the side's chord, with
        its length h and the wall's radius of curvature R; where that is a quarter of the cell's
        height a the cell is flat there, and it is kept to an eighth: h² = R a.
        """
        layer, unit = self.preset.layer, self.unit
        if layer is None or segment.is_step:
            return np.inf
        share = np.linspace(0, 1, BEND_SAMPLES)
        along = np.array([segment.tangent(float(at)) for at in share])
        places = np.array([segment(float(at)) for at in share])
        turns = np.diff(np.unwrap(np.arctan2(along[:, 1], along[:, 0])))
        steps = np.hypot(*np.diff(places, axis=0).T)
        if turns.max() < CORNER_ANGLE / BEND_SAMPLES:
            return np.inf
        radius = float((steps / np.maximum(turns, NOTHING)).min())
        size = np.sqrt(radius * layer.first_height / unit)
        # few different sizes, each of which gmsh asks everywhere
        return float(SIZE_STEP ** np.floor(np.log(size) / np.log(SIZE_STEP)))

    def _at_edges(self) -> list[Tag]:
        """Sizes at edges that point into the air, and at the ends of the throat."""
        preset, points, fields = self.preset, self.points, []
        for index, (segment, turn) in enumerate(zip(self.bore.segments, self.turns, strict=False)):
            point = points[index + 1 : index + 2]
            if turn > self.preset.blunt_angle:
                fields.append(self._near("PointsList", point, preset.edge, preset.edge_growth))
            elif segment.part == "throat" and turn > CORNER_ANGLE:
                fields.append(self._near("PointsList", point, preset.throat_end, preset.growth))
        if "cup" not in self.bore.parts:
            fields.append(self._near("PointsList", points[:1], preset.throat_end, preset.growth))
        return fields

    def _room_in_corners(self) -> list[Tag]:
        """Least sizes in inner corners, where both walls' boundary-layer meshes would meet."""
        if self.preset.layer is None:
            return []
        thickness, fields = self.preset.layer.thickness * self.diameter, []
        for index, turn in enumerate(self.turns):
            if turn > -self.preset.blunt_angle:
                continue
            shortest = min(segment.arc_length() for segment in self.bore.segments[index:][:2])
            crossing = thickness * np.tan(-turn / 2)
            size = min(CORNER_ROOM * crossing, CORNER_SHARE * shortest)
            distance = self._add("Distance", {"PointsList": [self.points[index + 1]]})
            fields.append(self._threshold(distance, (size, NOTHING * size), (size, 2 * size)))
        return fields

    def _near(self, kind: str, tags: list[Tag], size: float, growth: float) -> Tag:
        """Grow from a size at points or curves to `FREE` far from them."""
        least, most = size * self.unit, FREE * self.unit
        distance = self._add("Distance", {kind: tags}, Sampling=SAMPLES)
        far = least + (FREE - size) * self.unit / growth
        return self._threshold(distance, (least, most), (least, far))

    def _threshold(
        self, distance: Tag, sizes: tuple[float, float], reach: tuple[float, float]
    ) -> Tag:
        """Pass from one size to another [m] between two distances [m]."""
        return self._add("Threshold", InField=distance, SizeMin=sizes[0], SizeMax=sizes[1],
                         DistMin=reach[0], DistMax=reach[1])  # fmt: skip

    def _within(
        self, size: float, x: tuple[float, float], radii: tuple[float, float], growth: float
    ) -> Tag:
        """A size inside a box of positions [m] and radii [throat diameters], growing outside."""
        low, high = (share * self.diameter for share in radii)
        return self._add("Box", VIn=size * self.unit, VOut=FREE * self.unit, XMin=x[0], XMax=x[1],
                         YMin=low, YMax=high, Thickness=FREE * self.unit / growth)  # fmt: skip

    def _drawn(self, reach: float) -> float:
        """A length downstream of the throat, shortened where the mesh is stretched afterwards."""
        near = min(reach, self.preset.stretch_from)
        return near + (reach - near) / self.preset.stretch

    def _joined(self, kind: str, fields: Sequence[Tag]) -> Tag:
        return self._add(kind, {"FieldsList": list(fields)})

    def _add(self, kind: str, tags: dict[str, list[Any]] | None = None, **numbers: Any) -> Tag:
        """Add a field with its lists of tags and its numbers."""
        field = self.field.add(kind)
        for name, listed in (tags or {}).items():
            self.field.setNumbers(field, name, listed)
        for name, number in numbers.items():
            self.field.setNumber(field, name, number)
        return field
