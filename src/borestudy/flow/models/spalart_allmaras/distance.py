"""Distance from points to the nearest wall: the least over the wall's straight pieces."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from borestudy.flow.discretisation import Discretisation
from borestudy.flow.edges import REFERENCE_EDGES
from borestudy.flow.interpolation import quadratic_functions

#: Straight pieces that a curved wall edge is cut into.
PIECES = 8
#: Pieces looked at first; where others could be nearer all are.
CANDIDATES = 12
CHUNK = 2_000
FLAT = 1e-9


def wall_pieces(space: Discretisation) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Both ends of the wall's straight pieces, each of shape (2, n), scaled."""
    mesh = space.mesh
    edges = np.asarray(mesh.boundaries["wall"])
    element = mesh.f2t[0, edges]
    which = np.argmax(mesh.t2f[:, element] == edges, axis=0)
    geometry = mesh.doflocs[:, space.velocity_basis.element_dofs[:, element]]
    share = np.linspace(0, 1, PIECES + 1)
    start, stop = REFERENCE_EDGES[:, 0], REFERENCE_EDGES[:, 1]
    local = start[:, :, None] + (stop - start)[:, :, None] * share
    functions = np.array([quadratic_functions(places) for places in local])
    lines = np.einsum("fis,cif->cfs", functions[which], geometry)
    chord = lines[:, :, -1] - lines[:, :, 0]
    middle = lines[:, :, PIECES // 2] - lines[:, :, 0]
    length = np.hypot(*chord)
    straight = np.abs(chord[0] * middle[1] - chord[1] * middle[0]) < FLAT * length**2
    curved = lines[:, ~straight]
    begin = np.concatenate([lines[:, straight, 0], curved[:, :, :-1].reshape(2, -1)], axis=1)
    end = np.concatenate([lines[:, straight, -1], curved[:, :, 1:].reshape(2, -1)], axis=1)
    return begin, end


def wall_distance(
    begin: NDArray[np.float64], end: NDArray[np.float64], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distance of points (2, n) to the nearest of the straight pieces, shape (n,)."""
    middles = 0.5 * (begin + end)
    reach = 0.5 * np.hypot(*(end - begin)).max()
    count = min(CANDIDATES, middles.shape[1])
    away, nearest = cKDTree(middles.T).query(points.T, k=count)
    away, nearest = away.reshape(-1, count), nearest.reshape(-1, count)
    distance = _to_pieces(begin[:, nearest], end[:, nearest], points[:, :, None])
    # a piece that was not looked at has its middle beyond the last one's
    if count < middles.shape[1]:
        unsure = np.flatnonzero(distance > away[:, -1] - reach)
        for chosen in np.array_split(unsure, len(unsure) // CHUNK + 1):
            distance[chosen] = _to_pieces(
                begin[:, None], end[:, None], points[:, chosen][:, :, None]
            )
    return distance


def _to_pieces(
    begin: NDArray[np.float64], end: NDArray[np.float64], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    along = end - begin
    offset = points - begin
    share = np.sum(offset * along, axis=0) / np.sum(along**2, axis=0)
    share = np.clip(share, 0, 1)
    squared = np.sum((offset - share * along) ** 2, axis=0)
    return np.sqrt(squared.min(axis=-1))
