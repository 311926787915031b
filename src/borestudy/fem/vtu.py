"""Fields on second-order triangles as `.vtu` files for ParaView: four linear triangles for each."""

from collections.abc import Mapping
from pathlib import Path

import meshio
import numpy as np

from borestudy.fem import Floats, Ints
from borestudy.files import replacing

#: Corners, then middles of the edges 01, 12, 02, as a quadratic element numbers its nodes.
SUBTRIANGLES = np.array([[0, 3, 5], [1, 4, 3], [2, 5, 4], [3, 4, 5]])


def linear_triangles(elements: Ints) -> Ints:
    """Nodes of the linear triangles, shape (4 E, 3), from those of the quadratic, shape (6, E)."""
    return elements.T[:, SUBTRIANGLES].reshape(-1, 3)


def write_vtu(path: Path | str, points: Floats, elements: Ints, data: Mapping[str, Floats]) -> None:
    """Write nodal fields.

    Parameters
    ----------
    path : path
        The file to make.
    points : ndarray, shape (2, n) [m]
        Axial and radial positions of the nodes.
    elements : ndarray, shape (6, E)
        Nodes of each second-order triangle.
    data : mapping of str to ndarray, shape (n,) or (n, 3)
        Fields by name.
    """
    places = np.column_stack([points.T, np.zeros(points.shape[1])])
    field = meshio.Mesh(places, [("triangle", linear_triangles(elements))], point_data=dict(data))
    with replacing(path) as unfinished:
        field.write(unfinished)
