"""Taylor–Hood unknowns on a bore's mesh: matrices that stay, a fixed pattern for those that change.

The vector of unknowns is axial velocity, radial velocity (quadratic, one value a node of the
second-order mesh's quadratic basis), then pressure (linear, one value a vertex).
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy import sparse
from skfem import Basis, BilinearForm, ElementTriP1, ElementTriP2, MeshTri2

from borestudy.fem import Floats, Ints

from . import forms
from .convection import (
    ConvectionTables,
    convection_derivative,
    convection_residual,
    convection_tables,
)

#: Grad-div parameter over throat velocity times diameter.  On a fine mesh the pressure drop does
#: not depend on it; with 2 the mass flux through interior sections is exact to 1e-6 up to a throat
#: Reynolds number of 7000, with 1 to twice that, without to 2e-5.
GRAD_DIV = 2.0
#: Exact for convection on straight triangles: 2 + 1 + 2 and one for the weight r.
QUADRATURE_ORDER = 6


@dataclass(frozen=True)
class Discretisation:
    """Bases, constant matrices and sparsity pattern on one mesh, scaled by the throat diameter.

    The matrices are made where a model first asks for them.

    Attributes
    ----------
    mesh : skfem.MeshTri2
        Coordinates divided by `scale`.
    scale : float
        The throat diameter [m].
    velocity_basis, pressure_basis : skfem.Basis
        Of one velocity component and of the pressure.
    tables : ConvectionTables
        What convection is assembled from.
    """

    mesh: MeshTri2
    scale: float
    velocity_basis: Basis
    pressure_basis: Basis
    tables: ConvectionTables

    @cached_property
    def viscous(self) -> sparse.csr_matrix:
        """Viscous stress between velocities, shape (2n, 2n) with n velocity nodes."""
        return _two_by_two(self._viscous_blocks)

    @cached_property
    def grad_div(self) -> sparse.csr_matrix:
        """Product of the velocities' divergences, shape (2n, 2n)."""
        return _two_by_two(self._grad_div_blocks)

    @cached_property
    def divergence(self) -> sparse.csr_matrix:
        """Divergence against the pressures' test functions, shape (m, 2n) with m pressures."""
        return sparse.hstack(self._divergence_blocks, format="csr")

    @cached_property
    def pattern(self) -> sparse.csc_matrix:
        """Shape (2n + m, 2n + m); its data number the entries of `jacobian_data`."""
        gradient = [_transposed(part) for part in self._divergence_blocks]
        return _whole_pattern(self._viscous_blocks, gradient, self._divergence_blocks)

    @property
    def scatter(self) -> Ints:
        """Place of each element entry (E * 36,) in the data of one scalar velocity block."""
        return self._momentum.scatter

    @cached_property
    def _momentum(self) -> "_Block":
        return _Block(self.velocity_basis, self.velocity_basis)

    @cached_property
    def _viscous_blocks(self) -> list[sparse.csr_matrix]:
        return self._symmetric(forms.viscous_xx, forms.viscous_xr, forms.viscous_rr)

    @cached_property
    def _grad_div_blocks(self) -> list[sparse.csr_matrix]:
        share = inlet_edge_distance(self.velocity_basis)
        return self._symmetric(forms.grad_div_xx, forms.grad_div_xr, forms.grad_div_rr, share=share)

    @cached_property
    def _divergence_blocks(self) -> list[sparse.csr_matrix]:
        continuity = _Block(self.velocity_basis, self.pressure_basis)
        return [continuity.assembled(form) for form in (forms.divergence_x, forms.divergence_r)]

    @cached_property
    def _linear_data(self) -> tuple[Floats, Floats, Floats]:
        gradient = [_transposed(part) for part in self._divergence_blocks]
        return (
            np.array([part.data for part in self._viscous_blocks]),
            np.array([part.data for part in self._grad_div_blocks]),
            np.concatenate([part.data for part in (*gradient, *self._divergence_blocks)]),
        )

    def _symmetric(self, *forms_of_blocks: BilinearForm, **fields: Any) -> list[sparse.csr_matrix]:
        xx, mixed, rr = (self._momentum.assembled(form, **fields) for form in forms_of_blocks)
        # the pattern is symmetric, so the transpose has the same one
        return [xx, mixed, _transposed(mixed), rr]

    @property
    def nodes(self) -> int:
        """Number of velocity nodes."""
        return int(self.velocity_basis.N)

    @property
    def unknowns(self) -> int:
        """Number of unknowns before boundary values are taken out."""
        return 2 * self.nodes + int(self.pressure_basis.N)

    def velocity(self, unknowns: Floats) -> Floats:
        """The velocity's nodal values, shape (2, n)."""
        return unknowns[: 2 * self.nodes].reshape(2, self.nodes)

    def pressure(self, unknowns: Floats) -> Floats:
        """The pressure's nodal values, shape (m,)."""
        return unknowns[2 * self.nodes : self.unknowns]

    def residual(
        self, unknowns: Floats, reynolds: float, stabilisation: float = 0.0, inertia: float = 1.0
    ) -> Floats:
        """Left side of the weak form against every test function, shape (2n + m,)."""
        flat = unknowns[: 2 * self.nodes]
        momentum = self.viscous @ flat / reynolds + self.divergence.T @ self.pressure(unknowns)
        if stabilisation:
            momentum += stabilisation * (self.grad_div @ flat)
        if inertia:
            momentum += inertia * convection_residual(self.tables, self.velocity(unknowns)).ravel()
        return np.concatenate([momentum, self.divergence @ flat])

    def jacobian_data(
        self,
        unknowns: Floats,
        reynolds: float,
        stabilisation: float = 0.0,
        inertia: float = 1.0,
        inverse_step: Floats | None = None,
    ) -> Floats:
        """Entries of the residual's exact derivative, in the order `pattern` numbers them.

        With `inverse_step`, shape (E,), each element's reciprocal pseudo-time step is added.
        """
        viscous, grad_div, coupling = self._linear_data
        velocity_blocks = viscous / reynolds + stabilisation * grad_div
        if inertia:
            elements = convection_derivative(self.tables, self.velocity(unknowns), inverse_step)
            size = velocity_blocks.shape[1]
            for block, entries in zip(velocity_blocks, elements, strict=True):
                block += inertia * np.bincount(self.scatter, entries.ravel(), minlength=size)
        return np.concatenate([velocity_blocks.ravel(), coupling])


def discretise(mesh: MeshTri2, scale: float) -> Discretisation:
    """Set up Taylor–Hood elements on a mesh in metres, `scale` being the throat diameter [m]."""
    scaled = mesh.scaled(1 / scale)
    velocity_basis = Basis(scaled, ElementTriP2(), intorder=QUADRATURE_ORDER)
    pressure_basis = velocity_basis.with_element(ElementTriP1())
    return Discretisation(
        mesh=scaled,
        scale=scale,
        velocity_basis=velocity_basis,
        pressure_basis=pressure_basis,
        tables=convection_tables(velocity_basis),
    )


def inlet_edge_distance(basis: Basis) -> Floats:
    """Rise from 0 where rim plane and wall meet to 1 a rim radius away, as the distance squared."""
    edge = np.intersect1d(basis.get_dofs("rim_plane").flatten(), basis.get_dofs("wall").flatten())
    corner = basis.doflocs[:, edge[0]]
    offset = np.asarray(basis.global_coordinates()) - corner[:, None, None]
    return np.minimum(1.0, np.sum(offset**2, axis=0) / corner[1] ** 2)


class _Block:
    """Pattern of a block from the elements' nodes; entries that happen to be zero stay in it.

    `scatter` is the place of each element entry (E, test, trial) among the block's.
    """

    def __init__(self, trial: Basis, test: Basis) -> None:
        self.trial, self.test = trial, test
        rows = np.repeat(test.element_dofs.T, trial.Nbfun, axis=1).ravel()
        columns = np.tile(trial.element_dofs.T, (1, test.Nbfun)).ravel()
        places = np.ones(len(rows)), (rows, columns)
        self.pattern = sparse.csr_matrix(places, shape=(test.N, trial.N))
        self.pattern.sort_indices()
        row_of_entry = np.repeat(np.arange(test.N), np.diff(self.pattern.indptr))
        keys = row_of_entry * np.int64(trial.N) + self.pattern.indices
        self.scatter = np.searchsorted(keys, rows * np.int64(trial.N) + columns)

    def assembled(self, form: BilinearForm, **fields: Any) -> sparse.csr_matrix:
        shape = self.trial.Nbfun, self.test.Nbfun, -1
        data = form.coo_data(self.trial, self.test, **fields).data.reshape(shape)
        entries, pattern = data.transpose(2, 1, 0).ravel(), self.pattern
        values = np.bincount(self.scatter, entries, minlength=pattern.nnz)
        return sparse.csr_matrix((values, pattern.indices, pattern.indptr), pattern.shape)


def _transposed(matrix: sparse.csr_matrix) -> sparse.csr_matrix:
    transposed = sparse.csr_matrix(matrix.T)
    transposed.sort_indices()
    return transposed


def _two_by_two(blocks: list[sparse.csr_matrix]) -> sparse.csr_matrix:
    return sparse.bmat([blocks[:2], blocks[2:]], format="csr")


def _whole_pattern(
    velocity: list[sparse.csr_matrix],
    gradient: list[sparse.csr_matrix],
    divergence: list[sparse.csr_matrix],
) -> sparse.csc_matrix:
    """The whole matrix with, for data, the number of each entry among all blocks' entries."""
    numbered, start = [], 0
    for block in (*velocity, *gradient, *divergence):
        numbers = np.arange(start, start + len(block.data))
        numbered.append(sparse.csr_matrix((numbers, block.indices, block.indptr), block.shape))
        start += len(numbers)
    xx, xr, rx, rr, px, pr, dx, dr = numbered
    whole = sparse.bmat([[xx, xr, px], [rx, rr, pr], [dx, dr, None]], format="csc")
    whole.sort_indices()
    return whole
