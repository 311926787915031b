"""The bores' sections drawn over each other, and the finest mesh, both with the entry enlarged."""

from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pandas as pd
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from borestudy.drawing import looks, style
from borestudy.drawing.bore import draw_section, entry_window, frame_section, mark_parts
from borestudy.files import refuse_damaged
from borestudy.report.captions import save
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.drawn_data import of_cases

#: The edges of a triangle by its nodes, straight or through the node in the middle.
SIDES = {
    "triangle": np.array([(0, 1), (1, 2), (2, 0)]),
    "triangle6": np.array([(0, 3, 1), (1, 4, 2), (2, 5, 0)]),
}


@style.styled
def draw_bores(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw all bores in section, to scale, with an enlarged view of the throat entry."""
    drawing = style.figure(112)
    whole, zoom = drawing.subplots(2, 1, height_ratios=(1, 1.55))
    shown, count = study.shown, len(study.cases)
    handles = []
    for index, case in enumerate(shown):
        line = style.plain_line(index, len(shown))
        handles.append(draw_section(whole, case.outline, **line))
        draw_section(zoom, case.outline, both=False, **line)
    for axes in (whole, zoom):
        frame_section(axes)
    if looks.is_narrow():
        whole.locator_params(axis="y", nbins=2)
    left, right, top = entry_window([case.outline for case in shown])
    zoom.set(xlim=(left, right), ylim=(0, top))
    zoom.set_title("throat entry, enlarged", loc="left")
    frame = Rectangle((left, 0), right - left, top, fill=False, edgecolor=style.GREY, linewidth=0.8)
    whole.add_patch(frame)
    mark_parts(whole, shown[0].outline)
    style.key(drawing, [whole, zoom], [case.label for case in shown], handles)
    what = "The bore" if count == 1 else f"The {count} bores"
    words = {"what": what, "some": style.left_out(shown, study.cases)}
    data = of_cases(
        shown,
        [
            {"position_mm": case.outline.position_mm, "radius_mm": case.outline.radius_mm}
            for case in shown
        ],
    )
    return save(drawing, directory, "bore-sections", data, count=count, **words)


@style.styled
def draw_mesh(study: PicturedStudy, directory: Path) -> style.FigureRecord | None:
    """Draw the finest mesh of the first case that has one."""
    case = next((case for case in study.cases if case.mesh_path), None)
    if case is None or case.mesh_path is None:
        return None
    lines, count = read_edges(case.mesh_path)
    drawing = style.figure(looks.lower(122))
    whole, zoom = drawing.subplots(2, 1, height_ratios=(1, 3.2))
    left, right, top = entry_window([case.outline])
    for axes, width in ((whole, 0.12), (zoom, 0.4)):
        thin: Any = {"colors": "#1b4f72", "linewidths": width, "rasterized": True}
        axes.add_collection(LineCollection(list(lines), **thin))
        axes.set(aspect="equal", xlabel="distance from the rim plane, mm", ylabel="radius, mm")
        axes.grid(visible=False)
        axes.plot(case.outline.position_mm, case.outline.radius_mm, color="black", linewidth=0.7)
        axes.axhline(0, color=style.GREY, linewidth=0.6)
    whole.set(xlim=(0, case.outline.position_mm[-1]), ylim=(0, None))
    zoom.set(xlim=(left, right), ylim=(0, top))
    ends = np.concatenate([lines[:, 0], lines[:, -1]], axis=1)
    names = ["start_position_mm", "start_radius_mm", "end_position_mm", "end_radius_mm"]
    data = pd.DataFrame(ends, columns=names)
    return save(drawing, directory, "mesh", data, case=case.label, count=count)


def read_edges(path: Path) -> tuple[np.ndarray, int]:
    """Read the edges of a triangle mesh, shape (n, 2 or 3, 2) [mm], and count its triangles.

    An edge has its ends, and the middle node where the triangles are of second order.
    """
    refuse_damaged(path)
    mesh = meshio.read(path)
    triangles = [(cells.data, SIDES[cells.type]) for cells in mesh.cells if cells.type in SIDES]
    joined = np.concatenate([nodes[:, side] for nodes, sides in triangles for side in sides])
    ends = np.sort(joined[:, [0, -1]], axis=1)
    _, unique = np.unique(ends, axis=0, return_index=True)
    edges = 1e3 * mesh.points[joined[np.sort(unique)]][:, :, :2]
    return edges, sum(len(nodes) for nodes, _ in triangles)
