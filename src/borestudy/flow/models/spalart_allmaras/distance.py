"""Distance from points to the nearest wall: the least over the wall's straight pieces."""

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.edges import REFERENCE_EDGES

#: Straight pieces that a curved wall edge is cut into.
PIECES = 8
#: Points that are worked on at once.
CHUNK = 200
FLAT = 1e-9


def wall_pieces(space: Discretisation) -> tuple[Floats, Floats]:
    """Both ends of the wall's straight pieces, each of shape (2, n), scaled."""
    mesh = space.mesh
    edges = np.asarray(mesh.boundaries["wall"])
    element = mesh.f2t[0, edges]
    which = np.argmax(mesh.t2f[:, element] == edges, axis=0)
    geometry = mesh.doflocs[:, space.velocity_basis.element_dofs[:, element]]
    share = np.linspace(0, 1, PIECES + 1)
    start, stop = REFERENCE_EDGES[:, 0], REFERENCE_EDGES[:, 1]
    local = start[:, :, None] + (stop - start)[:, :, None] * share
    functions = np.array([reference_functions(space.velocity_basis, at)[0] for at in local])
    lines = np.einsum("fis,cif->cfs", functions[which], geometry)
    chord = lines[:, :, -1] - lines[:, :, 0]
    middle = lines[:, :, PIECES // 2] - lines[:, :, 0]
    length = np.hypot(*chord)
    straight = np.abs(chord[0] * middle[1] - chord[1] * middle[0]) < FLAT * length**2
    curved = lines[:, ~straight]
    begin = np.concatenate([lines[:, straight, 0], curved[:, :, :-1].reshape(2, -1)], axis=1)
    end = np.concatenate([lines[:, straight, -1], curved[:, :, 1:].reshape(2, -1)], axis=1)
    return begin, end


def wall_distance(begin: Floats, end: Floats, points: Floats) -> Floats:
    """Distance of points (2, n) to the nearest of the straight pieces, shape (n,)."""
    along = end - begin
    unit = along / np.sum(along**2, axis=0)
    starts = np.sum(begin * unit, axis=0)
    before, slope = 0.5 * np.sum(begin**2, axis=0), np.sum(begin * along, axis=0)
    bend = 0.5 * np.sum(along**2, axis=0)
    nearest = np.empty(points.shape[1], dtype=np.int64)
    for part in (slice(first, first + CHUNK) for first in range(0, points.shape[1], CHUNK)):
        place = points[:, part].T
        share = np.clip(place @ unit - starts, 0, 1)
        # half the squared distance, but for the point's own square; its rounding decides nothing
        # but which of two pieces equally near is taken
        half = before - place @ begin
        half -= share * (place @ along - slope)
        half += share * share * bend
        nearest[part] = half.argmin(axis=1)
    begin, along, unit = begin[:, nearest], along[:, nearest], unit[:, nearest]
    offset = points - begin
    share = np.clip(np.sum(offset * unit, axis=0), 0, 1)
    return np.asarray(np.hypot(*(offset - share * along)))
