"""Nested dissection by the mesh's own geometry: an elimination order with little fill.

The elements are halved again and again, each time across the direction that leaves the fewest
unknowns on the cut, and the unknowns on a cut are eliminated after those of both halves (George
1973, SIAM J. Numer. Anal. 10, 345).  Within a piece unknowns keep their order, so pressures that
are numbered after velocities meet a pivot that elimination has already filled.
"""

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats, Ints

#: Elements in a piece that is not halved any more.
SMALLEST_PIECE = 6
#: A cut through a median that leaves less than this share on one side is drawn by rank instead.
LEAST_SHARE = 0.3


def nested_dissection(element_dofs: Ints, centres: Floats) -> Ints:
    """Order in which to eliminate the unknowns of a finite-element mesh.

    Parameters
    ----------
    element_dofs : ndarray, shape (E, k)
        Unknowns of each element.
    centres : ndarray, shape (2, E)
        A point in each element.

    Returns
    -------
    ndarray, shape (n,)
        All unknowns that occur, first to be eliminated first.
    """
    placed, marked = np.zeros((2, int(element_dofs.max()) + 1), dtype=bool)
    pieces: list[Ints] = []
    # (elements, None) is a piece to be ordered, (None, unknowns) a cut whose halves are ordered
    stack: list[tuple[NDArray | None, NDArray | None]] = [(np.arange(len(element_dofs)), None)]
    while stack:
        elements, cut = stack.pop()
        if cut is not None:
            pieces.append(cut)
        elif elements is not None and len(elements) <= SMALLEST_PIECE:
            own = np.unique(element_dofs[elements])
            own = own[~placed[own]]
            placed[own] = True
            pieces.append(own)
        elif elements is not None:
            first, second, shared = _halves(element_dofs, centres, elements, placed, marked)
            placed[shared] = True
            stack += [(None, shared), (second, None), (first, None)]
    return np.concatenate(pieces)


def _halves(
    element_dofs: Ints,
    centres: Floats,
    elements: Ints,
    placed: NDArray[np.bool_],
    marked: NDArray[np.bool_],
) -> tuple[Ints, Ints, Ints]:
    """The two halves of a piece with the fewest shared unknowns, and those unknowns.

    `marked` is all False before and after.
    """
    choices, count = [], len(elements)
    for along in centres[:, elements]:
        # the median, but for what it costs to average over pieces of some few elements
        lower = along < np.partition(along, count // 2)[count // 2]
        if not LEAST_SHARE * count <= np.count_nonzero(lower) <= (1 - LEAST_SHARE) * count:
            lower = np.zeros(count, dtype=bool)
            lower[np.argsort(along, kind="stable")[: count // 2]] = True
        first, second = elements[lower], elements[~lower]
        ours, theirs = element_dofs[first].ravel(), element_dofs[second].ravel()
        marked[ours] = True
        shared = np.unique(theirs[marked[theirs] & ~placed[theirs]])
        marked[ours] = False
        choices.append((first, second, shared))
    return min(choices, key=lambda choice: len(choice[2]))
