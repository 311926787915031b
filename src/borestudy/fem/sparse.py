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

On 53 thousand unknowns of the turbulent flow METIS orders with 7 % fewer operations, is no faster
for it and takes longer to order; MKL's Pardiso takes 0.44 s with its analysis where SuperLU takes
0.6 s in double precision and 0.4 s in single, solves slower, and is large to install.

Factors in single precision take two thirds of that time and half the memory, and leave 5e-3 of a
residual in the turbulent flow with 53 thousand unknowns; each refinement against the matrix in
double precision leaves as small a share again, so that nothing is lost (iterative refinement with
factors of low precision: Higham & Mary 2022, Acta Numerica 31, 347).
"""

from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix, sparray, spmatrix
from scipy.sparse.csgraph import reverse_cuthill_mckee
from scipy.sparse.linalg import SuperLU, splu


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
#: A refinement that leaves more than this share is the last; and what is left of a residual then,
#: as a share of the load, if it is rounding: with more the factors do not fit the matrix.
CONTRACTION, ROUNDING = 0.5, 1e-9


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
) -> Callable[[spmatrix | sparray], "Factors"]:
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
        Function of a matrix with that pattern, which returns its `Factors`; a singular one raises
        RuntimeError.
    """
    known = _columns(pattern)
    numbered = csc_matrix((np.arange(known.nnz), known.indices, known.indptr), known.shape)
    permuted = _columns(numbered[order][:, order])

    def numeric(matrix: spmatrix | sparray) -> Factors:
        columns = _columns(matrix)
        if columns.nnz != permuted.nnz:
            raise ValueError("the matrix does not have the pattern that was analysed")
        data = columns.data[permuted.data]
        return Factors(csc_matrix((data, permuted.indices, permuted.indptr), permuted.shape), order)

    return numeric


def _columns(matrix: spmatrix | sparray) -> csc_matrix:
    columns = csc_matrix(matrix)
    if not columns.has_sorted_indices:
        columns = columns.sorted_indices()
    return columns


class Factors:
    """A real matrix with its factors in single precision, or in double where those do not serve.

    Parameters
    ----------
    entries : csc matrix, shape (n, n)
        The matrix in the order of elimination.
    order : ndarray of int, shape (n,)
        Which unknown comes at each place.
    """

    def __init__(self, entries: csc_matrix, order: NDArray) -> None:
        self.entries, self.order = entries, order
        self.single = True
        try:
            self.factors = self._factorised(np.float32)
        except RuntimeError:
            self._take_double()

    def __call__(
        self, right_hand_side: NDArray, transposed: bool = False, tolerance: float = 0.0
    ) -> NDArray:
        """Solve for shape (n,) or (n, m), until that share of the right side is left at most.

        By default until nothing but rounding is left.
        """
        acting = self.entries.T if transposed else self.entries
        load = np.asarray(right_hand_side[self.order], dtype=float)
        found, remaining = np.zeros_like(load), load
        left = size = np.linalg.norm(load)
        while left > tolerance * size:
            trial = found + self._solved(remaining, "T" if transposed else "N")
            # against the load itself, so that rounding shows
            after = load - acting @ trial
            share = np.linalg.norm(after) / left
            if self.single and not share < CONTRACTION and left > ROUNDING * size:
                self._take_double()
                continue
            if share < 1:
                found, remaining, left = trial, after, share * left
            if not share < CONTRACTION:
                break
        solution = np.empty_like(found)
        solution[self.order] = found
        return solution

    def _solved(self, right_hand_side: NDArray, trans: str) -> NDArray:
        size = np.abs(right_hand_side).max()
        scaled = (right_hand_side / size).astype(np.float32 if self.single else float)
        return size * np.asarray(self.factors.solve(scaled, trans), dtype=float)

    def _take_double(self) -> None:
        self.single, self.factors = False, self._factorised(np.float64)

    def _factorised(self, precision: type) -> SuperLU:
        matrix = self.entries.astype(precision)
        return splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=PIVOT_THRESHOLD)
