"""Generalised minimal residuals with a preconditioner that may differ from step to step."""

from collections.abc import Callable

import numpy as np
from scipy import sparse

from borestudy.fem import Floats


def gmres(
    matrix: sparse.csc_matrix,
    precondition: Callable[[Floats], Floats],
    load: Floats,
    tolerance: float,
    most: int,
) -> Floats | None:
    """Solve a linear system (Saad 1993, SIAM J. Sci. Comput. 14, 461).

    Parameters
    ----------
    matrix : csc matrix, shape (n, n)
        The system's.
    precondition : callable
        Solves nearly the same system.
    load : ndarray, shape (n,)
        Right side.
    tolerance : float
        Norm of the residual over that of the right side at which a solution is taken.
    most : int
        Most steps.

    Returns
    -------
    ndarray, shape (n,), or None
        None where the steps did not suffice.
    """
    size = float(np.linalg.norm(load))
    if size == 0:
        return np.zeros_like(load)
    basis, tried = [load / size], []
    projected, wanted = np.zeros((most + 1, most)), np.zeros(most + 1)
    wanted[0] = size
    for step in range(most):
        tried.append(precondition(basis[step]))
        image = matrix @ tried[step]
        for row, vector in enumerate(basis):
            projected[row, step] = vector @ image
            image -= projected[row, step] * vector
        projected[step + 1, step] = np.linalg.norm(image)
        system = projected[: step + 2, : step + 1]
        share = np.linalg.lstsq(system, wanted[: step + 2], rcond=None)[0]
        if np.linalg.norm(system @ share - wanted[: step + 2]) <= tolerance * size:
            return np.asarray(np.array(tried).T @ share)
        basis.append(image / projected[step + 1, step])
    return None
