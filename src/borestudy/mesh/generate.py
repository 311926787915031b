"""Mesh a bore into a file, with gmsh.

Lines stay lines and conics become B-splines with their weights, so that the wall of the mesh is
the wall of the bore to the second order of its triangles.
"""

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from skfem import MeshTri2

from borestudy.bore import Bore, Segment
from borestudy.files import replacing
from borestudy.mesh.outline import joined_where_oblique, joint_near, shortened
from borestudy.mesh.presets import Preset
from borestudy.mesh.read import read_mesh
from borestudy.mesh.run import Calls, Tag, run_gmsh
from borestudy.mesh.sizes import SizeFields
from borestudy.mesh.unmeshed import refuse_unmeshable

#: Name of a mesh until it is whole, the same for all.
UNFINISHED = "unfinished.msh"
OPTIONS = (
    ("General.NumThreads", 1),
    ("Mesh.Algorithm", 6),
    ("Mesh.MeshSizeExtendFromBoundary", 0),
    ("Mesh.MeshSizeFromPoints", 0),
    ("Mesh.MeshSizeFromCurvature", 0),
    ("Mesh.MshFileVersion", 4.1),
)


def write_mesh(bore: Bore, path: Path | str, preset: Preset, level: int) -> None:
    """Mesh the half section of a bore with second-order triangles.

    The same bore gives the same mesh. Its boundaries are ``rim_plane``, ``wall``, ``axis`` and
    ``shank_end``; the line where a part ends and another follows is ``section_PART_end``; each
    part is a subdomain.

    Parameters
    ----------
    bore : Bore
        Bore to be meshed.
    path : path
        File to write (gmsh 4.1); it appears whole or not at all.
    preset : Preset
        Sizes, such as `ACOUSTICS`, `LAMINAR` or `turbulent(reynolds)`, at the resolution wanted.
    level : int
        0 is the preset's coarsest; each level more divides all sizes by `REFINEMENT_RATIO`.

    Raises
    ------
    MeshError
        If the bore is drawn finer than any mesh, or gmsh cannot be loaded, finds no mesh or needs
        more memory or time than it may take.
    FileError
        If the file cannot be written whole.
    """
    calls, joint = calls_for(bore, preset, level)
    with replacing(path) as unfinished, TemporaryDirectory(dir=unfinished.parent) as folder:
        run_gmsh(calls, Path(folder), UNFINISHED, joint, preset.stretch)
        (Path(folder) / UNFINISHED).replace(unfinished)


def write_meshes(bore: Bore, paths: Sequence[Path | str], preset: Preset) -> None:
    """Mesh a bore on the levels of a preset from 0 on, one file each.

    Raises
    ------
    MeshError, FileError
        See `write_mesh`.
    """
    for level, path in enumerate(paths):
        write_mesh(bore, path, preset, level)


def mesh_ladder(bore: Bore, preset: Preset) -> list[MeshTri2]:
    """Meshes of a bore on every level of a preset, as the workflow has them, but without files.

    The coarsest is the first, and those for refinement are the last; lengths are in m.

    Raises
    ------
    MeshError
        If the bore has no mesh; see `write_mesh`.
    """
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{name}.msh" for name in preset.names]
        write_meshes(bore, paths, preset)
        return [read_mesh(path) for path in paths]


def calls_for(bore: Bore, preset: Preset, level: int) -> tuple[Calls, float]:
    """All calls of gmsh for a mesh, and from where on [m] it is to be stretched."""
    refuse_unmeshable(bore)
    calls: Any = Calls()
    for option, value in OPTIONS:
        calls.option.setNumber(option, value)
    outline = bore if preset.layer is None else joined_where_oblique(bore, preset.blunt_angle)
    diameter = 2 * bore.throat_radius
    joint = bore.length
    if preset.stretch > 1:
        joint = joint_near(bore, min(joint, bore.throat_end + preset.stretch_from * diameter))
    outline = outline.divided(joint)
    drawn = shortened(outline, joint, preset.stretch)
    points, curves = add_section(calls, drawn)
    mesh, unit = calls.model.mesh, diameter * preset.unit(level)
    sizes = SizeFields(mesh.field, drawn, outline.turns, points, curves, preset, unit)
    sizes.set_background()
    sizes.set_boundary_layer()
    mesh.generate(2)
    mesh.setOrder(2)
    return calls, joint


def add_section(gmsh: Any, bore: Bore) -> tuple[list[Tag], list[Tag]]:
    """Add the half section to gmsh's model, one surface a part, with all names.

    The tags of the wall's points from the rim plane on, and of its segments, are given back.
    """
    shape = gmsh.model.occ
    first = bore.segments[0].start
    points = [shape.addPoint(*first, 0)]
    points += [shape.addPoint(*segment.stop, 0) for segment in bore.segments]
    pieces = zip(bore.segments, points, points[1:], strict=False)
    curves = [_add_curve(shape, *piece) for piece in pieces]
    last_of_part = {segment.part: index for index, segment in enumerate(bore.segments)}
    on_axis = [shape.addPoint(first[0], 0, 0)]
    across = [shape.addLine(on_axis[0], points[0])]
    along, surfaces, begin = [], [], 0
    for index in last_of_part.values():
        on_axis.append(shape.addPoint(bore.segments[index].stop[0], 0, 0))
        across.append(shape.addLine(on_axis[-1], points[index + 1]))
        along.append(shape.addLine(on_axis[-2], on_axis[-1]))
        walls = curves[begin : index + 1]
        outline = shape.addCurveLoop([along[-1], across[-1], *walls[::-1], across[-2]])
        surfaces.append(shape.addPlaneSurface([outline]))
        begin = index + 1
    shape.synchronize()
    lines = {"rim_plane": across[:1], "wall": curves, "axis": along, "shank_end": across[-1:]}
    for part, line in zip(list(last_of_part)[:-1], across[1:-1], strict=True):
        lines[f"section_{part}_end"] = [line]
    for name, tags in lines.items():
        gmsh.model.addPhysicalGroup(1, tags, name=name)
    for part, surface in zip(last_of_part, surfaces, strict=True):
        gmsh.model.addPhysicalGroup(2, [surface], name=part)
    return points, curves


def _add_curve(shape: Any, segment: Segment, start: Tag, stop: Tag) -> Tag:
    degree = segment.degree
    if degree == 1:
        return shape.addLine(start, stop)
    between = [shape.addPoint(*point, 0) for point in segment.points[1:-1]]
    knots = {"knots": [0, 1], "multiplicities": [degree + 1] * 2}
    weights = segment.weights.tolist()
    return shape.addBSpline([start, *between, stop], degree=degree, weights=weights, **knots)
