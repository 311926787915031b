"""Distance from points to the nearest wall: the least over the wall's straight pieces."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from borestudy.fem import Floats, Ints
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


@dataclass(frozen=True)
class WallPieces:
    """The wall's n straight pieces, scaled.

    Attributes
    ----------
    begin, end : ndarray, shape (2, n)
    shares_at_begin, shares_at_end : ndarray, shape (n, 6)
        Shares of an element's nodes in these.
    nodes : ndarray of int, shape (n, 6)
        Nodes of the element behind each.
    which : ndarray of int, shape (n,)
        Number of the edge in the element.
    straight : ndarray of bool, shape (n,)
        Whether the piece is a whole edge.
    """

    begin: Floats
    end: Floats
    shares_at_begin: Floats
    shares_at_end: Floats
    nodes: Ints
    which: Ints
    straight: NDArray[np.bool_]


def wall_pieces(space: Discretisation) -> WallPieces:
    """Cut the wall's edges into straight pieces."""
    mesh = space.mesh
    edges = np.asarray(mesh.boundaries["wall"])
    element = mesh.f2t[0, edges]
    which = np.argmax(mesh.t2f[:, element] == edges, axis=0)
    nodes = space.velocity_basis.element_dofs[:, element]
    share = np.linspace(0, 1, PIECES + 1)
    start, stop = REFERENCE_EDGES[:, 0], REFERENCE_EDGES[:, 1]
    local = start[:, :, None] + (stop - start)[:, :, None] * share
    functions = np.array([reference_functions(space.velocity_basis, at)[0] for at in local])[which]
    lines = np.einsum("fis,cif->cfs", functions, mesh.doflocs[:, nodes])
    chord = lines[:, :, -1] - lines[:, :, 0]
    middle = lines[:, :, PIECES // 2] - lines[:, :, 0]
    length = np.hypot(*chord)
    straight = np.abs(chord[0] * middle[1] - chord[1] * middle[0]) < FLAT * length**2
    # of each piece the number of its edge, and of its first and last place on that
    whole, cut = np.flatnonzero(straight), np.flatnonzero(~straight)
    edge = np.concatenate([whole, np.repeat(cut, PIECES)])
    first = np.concatenate([0 * whole, np.tile(np.arange(PIECES), len(cut))])
    last = np.concatenate([0 * whole + PIECES, np.tile(np.arange(PIECES), len(cut)) + 1])
    return WallPieces(
        begin=lines[:, edge, first],
        end=lines[:, edge, last],
        shares_at_begin=functions[edge, :, first],
        shares_at_end=functions[edge, :, last],
        nodes=nodes.T[edge],
        which=which[edge],
        straight=straight[edge],
    )


def wall_distance(begin: Floats, end: Floats, points: Floats) -> Floats:
    """Distance of points (2, n) to the nearest of the straight pieces, shape (n,)."""
    return nearest_pieces(begin, end, points)[0]


def nearest_pieces(begin: Floats, end: Floats, points: Floats) -> tuple[Floats, Ints]:
    """Distance of points (2, n) to the nearest of the straight pieces, and its number, (n,) each.

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
    numbers = np.empty(distances.shape, dtype=np.int64)
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
        least = candidates == distances[part][group]
        numbers[part] = np.maximum.reduceat(np.where(least, piece[:, None], -1), first)
    return np.sqrt(distances.ravel()[:count]), numbers.ravel()[:count]


@dataclass(frozen=True)
class NearestWall:
    """The number (n,) of the piece of the wall that is nearest to each point."""

    pieces: WallPieces
    number: Ints

    def nearest(
        self, space: Discretisation, place: Floats, distance: Floats
    ) -> tuple[sparse.csr_matrix, Floats]:
        """What moves the nearest point of the wall, and where it is seen from.

        Parameters
        ----------
        space : Discretisation
            Elements, along whose edges the wall runs.
        place : ndarray, shape (2, E, Q)
            The points.
        distance : ndarray, shape (E, Q)
            Their distance to the wall.

        Returns
        -------
        csr matrix, shape (E * Q, nodes)
            Share of each node's motion in that of the nearest point of the wall.
        ndarray, shape (2, E, Q)
            Unit vectors from there to the points.
        """
        pieces, number = self.pieces, self.number
        begin, along = pieces.begin, pieces.end - pieces.begin
        offset, along = place.reshape(2, -1) - begin[:, number], along[:, number]
        share = np.clip(np.sum(offset * along, axis=0) / np.sum(along**2, axis=0), 0, 1)
        away = (offset - share * along) / distance.ravel()
        first, last = pieces.shares_at_begin[number], pieces.shares_at_end[number]
        of_nodes = (1 - share)[:, None] * first + share[:, None] * last
        # along a straight edge the piece is the edge, whose points move as its middle node does too
        straight = pieces.straight[number]
        edge = REFERENCE_EDGES[pieces.which[number[straight]]]
        local = edge[:, 0].T + (edge[:, 1] - edge[:, 0]).T * share[straight]
        of_nodes[straight] = reference_functions(space.velocity_basis, local)[0].T
        count, each = of_nodes.shape
        starts = np.arange(0, count * each + 1, each)
        entries = of_nodes.ravel(), pieces.nodes[number].ravel(), starts
        return sparse.csr_matrix(entries, (count, space.nodes)), away.reshape(place.shape)


def _squares(begin: Floats, along: Floats, squared: Floats, points: Floats) -> Floats:
    """Squared distance of points from pieces, given by begin, direction and squared length."""
    (x, r), (axial, radial) = points - begin, along
    share = np.clip((x * axial + r * radial) / squared, 0, 1)
    x, r = x - share * axial, r - share * radial
    return np.asarray(x * x + r * r)
