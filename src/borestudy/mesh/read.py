"""Read a mesh file as scikit-fem's second-order mesh, by meshio alone.

scikit-fem's own loader does not take the boundaries of second-order triangles.
"""

from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

from borestudy.files import refuse_damaged

SIDES = ((0, 1), (1, 2), (0, 2))  # of a triangle in scikit-fem's order
GMSH_SIDES = ((0, 1), (1, 2), (2, 0))  # of the middle nodes in a gmsh triangle


def read_mesh(path: Path | str) -> MeshTri2:
    """Read a mesh that `borestudy.mesh.write_mesh` wrote, with its boundaries and subdomains, in m.

    Raises
    ------
    FileError
        If the file is missing or not whole.
    ValueError
        If it has no second-order triangles.
    """
    refuse_damaged(path)
    # By its name alone meshio takes it for another program's file first, and says so.
    file = meshio.read(path, file_format="gmsh")
    cells = file.cells_dict
    if "triangle6" not in cells:
        raise ValueError(
            f"{Path(path).name}: found cells of type {', '.join(cells)}; allowed are second-order "
            "triangles as write_mesh makes them"
        )
    triangles = cells["triangle6"]
    vertices, corners = np.unique(triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    flat = MeshTri(*map(np.ascontiguousarray, (file.points[vertices, :2].T, corners.T)))
    curved = MeshTri2.from_mesh(flat)
    count = len(vertices)
    keys = np.concatenate([_key(corners[:, i], corners[:, j], count) for i, j in GMSH_SIDES])
    keys, first = np.unique(keys, return_index=True)
    nodes = triangles[:, 3:].T.ravel()[first]
    middles = file.points[nodes, :2]
    places = curved.doflocs.copy()
    for row, (i, j) in enumerate(SIDES):
        found = np.searchsorted(keys, _key(curved.t[i], curved.t[j], count))
        places[:, curved.dofs.element_dofs[3 + row]] = middles[found].T
    facets = _key(flat.facets[0], flat.facets[1], count)
    order = np.argsort(facets)
    boundaries = {}
    for name, chosen in file.cell_sets_dict.items():
        if name.startswith("gmsh:") or "line3" not in chosen:
            continue
        ends = np.searchsorted(vertices, cells["line3"][chosen["line3"], :2])
        at = np.searchsorted(facets, _key(ends[:, 0], ends[:, 1], count), sorter=order)
        boundaries[name] = np.unique(order[at])
    subdomains = {
        name: np.asarray(chosen["triangle6"])
        for name, chosen in file.cell_sets_dict.items()
        if "triangle6" in chosen and not name.startswith("gmsh:")
    }
    return replace(MeshTri2(places, curved.t), _boundaries=boundaries, _subdomains=subdomains)


def _key(first: NDArray[np.int64], second: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    """One number for each unordered pair of vertices."""
    low, high = np.minimum(first, second), np.maximum(first, second)
    return low.astype(np.int64) * count + high
