"""Distance from points to the nearest wall: the least over the wall's straight pieces."""

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.convection import reference_functions
from borestudy.flow.discretisation import Discretisation
from borestudy.flow.edges import REFERENCE_EDGES

#: Straight pieces that a curved wall edge is cut into.
PIECES = 8
#: Points in a group, which are those of an element where they come element by element, and groups
#: that are worked on at once.
GROUP, CHUNK = 12, 100
#: Of a length: how far a curved edge leaves its chord, and a group's bound is widened by.
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
    """Distance of points (2, n) to the nearest of the straight pieces, shape (n,).

    Points that follow one another are taken in groups: the piece nearest to any of them is no
    farther from the group's centre than the piece nearest to that and the group's width.
    """
    along = end - begin
    squared = np.sum(along**2, axis=0)
    count = points.shape[1]
    groups = np.pad(points, ((0, 0), (0, -count % GROUP)), mode="edge").reshape(2, -1, GROUP)
    centres = groups.mean(axis=2)
    reach = 2 * np.hypot(*(groups - centres[:, :, None])).max(axis=1)
    distances = np.empty(groups.shape[1:])
    for part in (slice(first, first + CHUNK) for first in range(0, len(reach), CHUNK)):
        from_centre = _squares(begin[:, None], along[:, None], squared, centres[:, part, None])
        farthest = ((1 + FLAT) * (np.sqrt(from_centre.min(axis=1)) + reach[part])) ** 2
        group, piece = np.nonzero(from_centre <= farthest[:, None])
        candidates = _squares(
            begin[:, piece, None],
            along[:, piece, None],
            squared[piece, None],
            groups[:, part][:, group],
        )
        first = np.searchsorted(group, np.arange(group[-1] + 1))
        distances[part] = np.minimum.reduceat(candidates, first)
    return np.sqrt(distances.ravel()[:count])


def _squares(begin: Floats, along: Floats, squared: Floats, points: Floats) -> Floats:
    """Squared distance of points from pieces, given by begin, direction and squared length."""
    (x, r), (axial, radial) = points - begin, along
    share = np.clip((x * axial + r * radial) / squared, 0, 1)
    x, r = x - share * axial, r - share * radial
    return np.asarray(x * x + r * r)
