"""Sparse factorisation with the ordering that each physics was measured to need.

The acoustic matrix is complex symmetric, and a bore is long and thin: numbered along it (reverse
Cuthill–McKee) the matrix is a narrow band, in which elimination runs without search.  Measured on
the demo's bore with 2.8 and 15 thousand unknowns, milliseconds a factorisation and two solves:

======================================  =====  =====
SuperLU, reverse Cuthill–McKee            5.7     55
SuperLU, minimum degree of A + Aᵀ         9.6     64
SuperLU, column ordering                  8.2     76
======================================  =====  =====

The minimum-degree ordering is about twenty times slower than a column ordering on the flow's
saddle point.

The flow's saddle point is best served by nested dissection of the mesh, handed in as `order`.
Measured on 25 and 70 thousand unknowns of the flow, seconds a factorisation and a solve:

=========================  ============  ============
SuperLU, column ordering   0.31, 0.009   2.2, 0.04
SuperLU, dissection        0.20, 0.008   0.9, 0.024
UMFPACK (measured once)    0.19, 0.030   0.9, 0.117
=========================  ============  ============

Newton's method solves several times with the same factors, so dissection wins, and it needs no
library beyond SciPy.
"""

from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix, sparray, spmatrix
from scipy.sparse.csgraph import reverse_cuthill_mckee
from scipy.sparse.linalg import splu


class Solve(Protocol):
    """Solve with the factors of a matrix, or of its transpose, for shape (n,) or (n, m)."""

    def __call__(self, right_hand_side: NDArray, transposed: bool = False) -> NDArray: ...


SYMMETRIC_OPTIONS: dict[str, Any] = {
    "permc_spec": "NATURAL",
    "diag_pivot_thresh": 1e-3,
    "options": {"SymmetricMode": True},
}
#: With an order given, the diagonal is taken unless it is smaller than this share of its column's
#: greatest: pivoting for size destroys the order (at 0.1 the fill was three times as much on a
#: stretched mesh) and was not needed, residuals of the solves being 1e-11 either way.
PIVOT_THRESHOLD = 1e-5


def factorise_symmetric(matrix: spmatrix | sparray) -> Solve:
    """Factorise a complex symmetric matrix, in the order that makes it a narrow band.

    Raises
    ------
    RuntimeError
        If the matrix is singular.
    """
    rows = csr_matrix(matrix)
    order = reverse_cuthill_mckee(rows, symmetric_mode=True)
    # symmetric: the rows of the one are the columns of the other
    factors = splu(rows[order][:, order].T, **SYMMETRIC_OPTIONS)

    def solve(right_hand_side: NDArray, transposed: bool = False) -> NDArray:
        # the transpose of a symmetric matrix is itself
        solution = np.empty(right_hand_side.shape, dtype=np.result_type(rows, right_hand_side))
        solution[order] = factors.solve(right_hand_side[order].astype(solution.dtype))
        return solution

    return solve


def factoriser(
    pattern: spmatrix | sparray, order: NDArray
) -> Callable[[spmatrix | sparray], Solve]:
    """Prepare for many matrices that share a sparsity pattern.

    Parameters
    ----------
    pattern : sparse matrix, shape (n, n)
        Any matrix with the pattern; its values do not matter.
    order : ndarray of int, shape (n,)
        Order of elimination of the unknowns.

    Returns
    -------
    callable
        Function of a matrix with that pattern, which returns its `Solve`; a singular one raises
        RuntimeError.
    """
    known = _columns(pattern)
    numbered = csc_matrix((np.arange(known.nnz), known.indices, known.indptr), known.shape)
    permuted = _columns(numbered[order][:, order])

    def numeric(matrix: spmatrix | sparray) -> Solve:
        columns = _columns(matrix)
        if columns.nnz != permuted.nnz:
            raise ValueError("the matrix does not have the pattern that was analysed")
        data = columns.data[permuted.data]
        entries = csc_matrix((data, permuted.indices, permuted.indptr), permuted.shape)
        factors = splu(entries, permc_spec="NATURAL", diag_pivot_thresh=PIVOT_THRESHOLD)

        def solve(right_hand_side: NDArray, transposed: bool = False) -> NDArray:
            solution = np.empty_like(right_hand_side, dtype=np.result_type(data, right_hand_side))
            solution[order] = factors.solve(right_hand_side[order], "T" if transposed else "N")
            return solution

        return solve

    return numeric


def _columns(matrix: spmatrix | sparray) -> csc_matrix:
    columns = csc_matrix(matrix)
    if not columns.has_sorted_indices:
        columns = columns.sorted_indices()
    return columns
