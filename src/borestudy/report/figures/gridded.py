"""Fields read from .vtu files, put on regular grids so that pictures are small, and shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import meshio
import numpy as np
from matplotlib.patches import Polygon
from matplotlib.tri import LinearTriInterpolator, Triangulation

from borestudy.drawing.bore import Outline
from borestudy.drawing.style import METAL
from borestudy.files import refuse_damaged


@dataclass(frozen=True)
class Field:
    """A field on linear triangles.

    `x_mm`, `radius_mm`, shape (n,); `triangles`, shape (m, 3); `data`: point arrays by name.
    """

    x_mm: np.ndarray
    radius_mm: np.ndarray
    triangles: np.ndarray
    data: Mapping[str, np.ndarray]


def read_field(path: Path) -> Field:
    """Read a .vtu file of linear triangles with coordinates in metres."""
    refuse_damaged(path)
    mesh = meshio.read(path)
    return Field(
        1e3 * mesh.points[:, 0],
        1e3 * mesh.points[:, 1],
        np.concatenate([cells.data for cells in mesh.cells if cells.type == "triangle"]),
        {name: np.asarray(values) for name, values in mesh.point_data.items()},
    )


def on_grid(
    field: Field, names: list[str], x_mm: np.ndarray, radius_mm: np.ndarray
) -> list[np.ndarray]:
    """Interpolate point data on a regular grid, NaN outside the bore, each of shape (n_r, n_x).

    Of the point arrays named, a vector's component is written 'velocity_m_per_s:0'.  The positions,
    shape (n_x,), and the radii, shape (n_r,), rise, the radii from the axis outward.
    """
    corner_x, corner_radius = field.x_mm[field.triangles], field.radius_mm[field.triangles]
    near = (corner_x.max(1) >= x_mm[0]) & (corner_x.min(1) <= x_mm[-1])
    near &= corner_radius.min(1) <= radius_mm[-1]
    used, triangles = np.unique(field.triangles[near], return_inverse=True)
    triangulation = Triangulation(field.x_mm[used], field.radius_mm[used], triangles.reshape(-1, 3))
    grid_x, grid_radius = np.meshgrid(x_mm, radius_mm)
    finder = triangulation.get_trifinder()
    result = []
    for name in names:
        array, _, component = name.partition(":")
        values = field.data[array][used]
        values = values[:, int(component)] if component else values
        interpolate = LinearTriInterpolator(triangulation, values, trifinder=finder)
        result.append(np.ma.filled(interpolate(grid_x, grid_radius), np.nan))
    return result


def fill_outside(values: np.ndarray) -> np.ndarray:
    """Fill NaN beyond the wall with the value nearest below it in radius, shape (n_r, n_x).

    A picture clipped at the wall line then has no ragged edge.
    """
    filled = values.copy()
    for row in range(1, len(filled)):
        gap = np.isnan(filled[row])
        filled[row, gap] = filled[row - 1, gap]
    return np.nan_to_num(filled)


def stream_function(radius_mm: np.ndarray, axial_velocity: np.ndarray) -> np.ndarray:
    """Stokes stream function over its value at the wall: the share of the flow inside a radius.

    ψ(x, r) = ∫₀^r u r' dr' by the trapezoidal rule, divided by the median of the columns'
    whole flow; velocity outside the bore, which is NaN, counts as zero.  Of radii from the axis
    outward, shape (n_r,), and axial velocities, shape (n_r, n_x), it has the latter's shape: 0 on
    the axis, 1 at the wall, more than 1 inside a separated region.
    """
    integrand = np.nan_to_num(axial_velocity) * radius_mm[:, None]
    steps = 0.5 * (integrand[1:] + integrand[:-1]) * np.diff(radius_mm)[:, None]
    total = np.vstack([np.zeros(steps.shape[1]), np.cumsum(steps, axis=0)])
    return total / np.median(total[-1])


def section_picture(
    axes: Any,
    outline: Outline,
    values: np.ndarray,
    grid: tuple[np.ndarray, np.ndarray],
    origin: float = 0.0,
    **style: Any,
) -> tuple[Any, Polygon]:
    """Draw a picture and its mirror image, clipped to the section of the air.

    Values, shape (n_r, n_x), are without NaN, on x, shape (n_x,), from the origin and on radii,
    shape (n_r,) [mm].  Returns the image, and the section that whatever else is drawn is to be
    clipped to.
    """
    x, radius = grid
    both, extent = np.concatenate([values[:0:-1], values]), (x[0], x[-1], -radius[-1], radius[-1])
    picture = axes.imshow(both, extent=extent, origin="lower", interpolation="bilinear", **style)
    axes.set(aspect="equal", facecolor=METAL)
    axes.grid(visible=False)
    section = draw_wall_line(axes, outline, origin)
    inside = Polygon(section, closed=True, transform=axes.transData)
    picture.set_clip_path(inside)
    return picture, inside


def draw_wall_line(axes: Any, outline: Outline, origin: float = 0.0) -> np.ndarray:
    """Draw the closed section of the air, both halves; returns it, shape (2 n, 2) [mm]."""
    upper = np.column_stack([outline.position_mm - origin, outline.radius_mm])
    section = np.concatenate([upper, upper[::-1] * [1, -1]])
    axes.add_patch(Polygon(section, fill=False, edgecolor="black", linewidth=0.9))
    return section
