r"""A field of one order more, recovered from the nodal values of a finite-element field.

Around each element a polynomial is fitted to the field's nodal values there by least squares;
where elements meet, the nodes of the higher-order element take the mean of their polynomials.
What this gains on the field itself is what weighs a residual in a goal-oriented error estimate
(Becker & Rannacher 2001, Acta Numerica 10, 1; patch recovery after Zienkiewicz & Zhu
1992, Int. J. Numer. Methods Eng. 33, 1331, here fitted to values as Wiberg, Abdulwahab & Ziukas
1994, ibid. 37, 3417).  The fit is linear in the values: one sparse matrix for each mesh.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import Basis

from borestudy.fem import Floats, Ints

#: Weight of a node in the fit: 1 at the element's centre, half at this share of the patch's size².
NEARNESS = 0.3
#: Keeps a fit to few nodes from being singular; its effect is as small as this.
RIDGE = 1e-10


def recovery(source: Basis, target: Basis, degree: int) -> sparse.csr_matrix:
    """Build the matrix from a field's nodal values to those of a smoother field.

    Parameters
    ----------
    source, target : skfem.Basis
        Lagrange elements on the same triangles, the target's of the degree that is recovered.
    degree : int
        Degree of the fitted polynomials.

    Returns
    -------
    csr_matrix, shape (target.N, source.N)
        Exact for polynomials of that degree, where the patch has nodes enough.
    """
    nodes, known = _patches(source)
    centres = source.mesh.doflocs[:, source.mesh.t[:3]].mean(axis=1).T
    offsets = (source.doflocs[:, nodes].transpose(1, 2, 0) - centres[:, None]) * known[..., None]
    # patches are fitted in coordinates in which they are as long as wide
    spread = np.einsum("ewa,ewb->eab", offsets, offsets) / known.sum(axis=1)[:, None, None]
    to_round = np.linalg.inv(np.linalg.cholesky(spread)).transpose(0, 2, 1)
    places = offsets @ to_round
    weights = known / (NEARNESS + np.sum(places**2, axis=-1))
    matrix = _monomials(places, degree) * weights[:, None]
    normal = matrix @ matrix.transpose(0, 2, 1)
    size = normal.shape[-1]
    normal += RIDGE * np.trace(normal, axis1=1, axis2=2)[:, None, None] / size * np.eye(size)
    matrix *= weights[:, None]
    own = target.doflocs[:, target.element_dofs].transpose(2, 1, 0) - centres[:, None]
    values = _monomials(own @ to_round, degree).transpose(0, 2, 1) @ np.linalg.solve(normal, matrix)
    # each element's own nodes row by row, then the mean of the elements that share a node
    elements, rows = values.shape[:2]
    starts = np.append(0, np.cumsum(np.repeat(known.sum(axis=1), rows)))
    used = np.broadcast_to(known[:, None], values.shape)
    columns = np.broadcast_to(nodes[:, None], values.shape)[used]
    shape = (elements * rows, source.N)
    by_element = sparse.csr_matrix((values[used], columns, starts), shape)
    dofs = target.element_dofs.T.ravel()
    shares = 1 / np.bincount(dofs, minlength=target.N)[dofs]
    places_of_rows = np.arange(len(dofs) + 1)
    mean = sparse.csc_matrix((shares, dofs, places_of_rows), (target.N, len(dofs)))
    return sparse.csr_matrix(mean.tocsr() @ by_element)


def embedding(source: Basis, target: Basis) -> sparse.csr_matrix:
    """Build the matrix from a field's nodal values to those in elements of higher order."""
    values = np.array(
        [source.elem.lbasis(target.elem.doflocs.T, number)[0] for number in range(source.Nbfun)]
    )
    count = target.Nbfun
    first = np.unique(target.element_dofs.T.ravel(), return_index=True)[1]
    element, local = first // count, first % count
    rows = np.repeat(np.arange(target.N)[:, None], source.Nbfun, axis=1)
    columns = source.element_dofs[:, element].T
    return sparse.csr_matrix(
        (values[:, local].T.ravel(), (rows.ravel(), columns.ravel())), shape=(target.N, source.N)
    )


def _patches(basis: Basis) -> tuple[Ints, NDArray[np.bool_]]:
    """Nodes of the elements that share a vertex with each, padded; and which are no padding."""
    corners = basis.mesh.t[:3]
    count = corners.shape[1]

    def incidence(numbers: Ints) -> sparse.csr_matrix:
        elements = np.tile(np.arange(count), len(numbers))
        ones = np.ones(numbers.size, dtype=np.int32)
        return sparse.csr_matrix((ones, (elements, numbers.ravel())))

    vertices = incidence(corners)
    inside = sparse.csr_matrix(vertices @ vertices.T @ incidence(basis.element_dofs))
    lengths = np.diff(inside.indptr)
    known = np.arange(lengths.max()) < lengths[:, None]
    nodes = np.zeros(known.shape, dtype=np.int64)
    nodes[known] = inside.indices
    return nodes, known


def _monomials(places: Floats, degree: int) -> Floats:
    """All monomials of a degree and below at places (E, w, 2), shape (E, number of them, w)."""
    x, r = places[..., 0], places[..., 1]
    of_degree = [np.ones_like(x)]
    found = list(of_degree)
    for _ in range(degree):
        of_degree = [x * of_degree[0], *(r * lower for lower in of_degree)]
        found += of_degree
    return np.stack(found, axis=1)
