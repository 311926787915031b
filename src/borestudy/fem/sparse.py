"""Sparse factorisation with the ordering that each physics was measured to need.

The acoustic matrix is complex symmetric and well served by a minimum-degree ordering of
``A + Aᵀ`` with hardly any pivoting; the same setting is about twenty times slower than a column
ordering on the flow's saddle point.

The saddle point is factorised by UMFPACK where the optional package kvxopt brings it, and by
SciPy's SuperLU otherwise.  On 68 thousand unknowns of the flow UMFPACK was measured at 1.0 s with
its analysis done once for all Newton steps, SuperLU at 1.7 s.
"""

from collections.abc import Callable
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, sparray, spmatrix
from scipy.sparse.linalg import splu

try:
    import kvxopt as _kvxopt
    from kvxopt import umfpack as _umfpack
except ImportError:  # the optional extra `fast` is not installed
    kvxopt: Any = None
    umfpack: Any = None
else:
    kvxopt, umfpack = _kvxopt, _umfpack  # untyped on purpose: its stubs know no NumPy arrays

Kind = Literal["complex symmetric", "saddle point"]
Solve = Callable[[NDArray], NDArray]
Library = Literal["fastest", "SuperLU", "UMFPACK"]

OPTIONS: dict[str, dict] = {
    "complex symmetric": {
        "permc_spec": "MMD_AT_PLUS_A",
        "diag_pivot_thresh": 0.1,
        "options": {"SymmetricMode": True},
    },
    "saddle point": {"permc_spec": "COLAMD"},
}


def factorise(matrix: spmatrix | sparray, kind: Kind, library: Library = "fastest") -> Solve:
    """Factorise once, solve for as many right-hand sides as wanted.

    Parameters
    ----------
    matrix : sparse matrix, shape (n, n)
        To be factorised.
    kind : {"complex symmetric", "saddle point"}
        What the matrix is, which decides library and ordering.
    library : {"fastest", "SuperLU", "UMFPACK"}
        The fastest that is installed for this kind unless one is asked for.

    Returns
    -------
    callable
        ``solve(right_hand_side)`` for arrays of shape (n,) or (n, m).

    Raises
    ------
    RuntimeError
        If the matrix is singular.
    """
    return factoriser(matrix, kind, library)(matrix)


def factoriser(
    pattern: spmatrix | sparray, kind: Kind, library: Library = "fastest"
) -> Callable[[spmatrix | sparray], Solve]:
    """Analyse a sparsity pattern once for many matrices that share it.

    Parameters
    ----------
    pattern : sparse matrix, shape (n, n)
        Any matrix with the pattern; its values do not matter.
    kind, library
        As for :func:`factorise`.

    Returns
    -------
    callable
        From a matrix with that pattern to its ``solve``.
    """
    if library == "fastest":
        library = "UMFPACK" if kind == "saddle point" and umfpack is not None else "SuperLU"
    if library == "UMFPACK":
        if umfpack is None:
            raise RuntimeError("UMFPACK needs the optional package kvxopt")
        return _umfpack_factoriser(_columns(pattern))

    def numeric(matrix: spmatrix | sparray) -> Solve:
        return _superlu(_columns(matrix), kind)

    return numeric


def _columns(matrix: spmatrix | sparray) -> csc_matrix:
    columns = csc_matrix(matrix)
    if not columns.has_sorted_indices:
        columns = columns.sorted_indices()
    return columns


def _superlu(columns: csc_matrix, kind: Kind) -> Solve:
    factors = splu(columns, **OPTIONS[kind])

    def solve(right_hand_side: NDArray) -> NDArray:
        return np.asarray(factors.solve(right_hand_side))

    return solve


def _umfpack_factoriser(pattern: csc_matrix) -> Callable[[spmatrix | sparray], Solve]:
    count = pattern.shape[0]
    column_of_entry = np.repeat(np.arange(count), np.diff(pattern.indptr))
    # a value on every entry: kvxopt keeps the pattern it is given here, column by column
    template = kvxopt.spmatrix(
        1.0, pattern.indices.astype(np.int64), column_of_entry, (count, count)
    )
    analysis: Any = None

    def numeric(matrix: spmatrix | sparray) -> Solve:
        nonlocal analysis
        columns = _columns(matrix)
        if columns.nnz != pattern.nnz:
            raise ValueError("the matrix does not have the pattern that was analysed")
        entries = +template
        entries.V = kvxopt.matrix(columns.data)
        try:
            if analysis is None:
                analysis = umfpack.symbolic(entries)
            factors = umfpack.numeric(entries, analysis)
        except ArithmeticError as reason:
            raise RuntimeError(f"the matrix is singular: {reason}") from reason

        def solve(right_hand_side: NDArray) -> NDArray:
            unknowns = kvxopt.matrix(np.asfortranarray(right_hand_side, dtype=float))
            umfpack.solve(entries, factors, unknowns)
            return np.array(unknowns).reshape(np.shape(right_hand_side), order="F")

        return solve

    return numeric
