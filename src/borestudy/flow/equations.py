"""What the equations of a model give the solver on one mesh."""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from borestudy.fem import Floats, Ints

from .by_place import ByPlace
from .discretisation import Discretisation

#: Elements whose integrands are worked on at once: their arrays stay in the processor's cache.
CHUNK = 800
#: Coefficients by row and column: of a field's value, axial and radial derivative, field by field.
Entries = Mapping[tuple[int, int], Floats]
#: Values and gradients of the fields, integrand against tests, its derivative: the first two of
#: shape (3 f, E, Q).
Linearised = tuple[Floats, Floats, Entries]


@dataclass(frozen=True)
class Equations(ABC):
    """What a model says inside the bore: the weak form's integral over the mesh.

    Attributes
    ----------
    space : Discretisation
        Bases and numbering of velocity and pressure.
    stabilisation : float
        Grad-div parameter.
    element_dofs : ndarray, shape (E, k)
        Unknowns of each element.
    pattern : csc matrix
        Pattern of the derivative over all unknowns; its data number the entries.
    """

    space: Discretisation
    stabilisation: float
    element_dofs: Ints
    pattern: sparse.csc_matrix

    @property
    def unknowns(self) -> int:
        """Number of unknowns before boundary values are taken out."""
        return int(self.pattern.shape[0])

    @abstractmethod
    def residual(self, unknowns: Floats, reynolds: float) -> Floats:
        """Left side against every test function, shape (unknowns,)."""

    @abstractmethod
    def residual_slope(self, unknowns: Floats, reynolds: float, change: Floats) -> Floats:
        """Exact derivative where the unknowns move by `change` with the Reynolds number."""

    @abstractmethod
    def jacobian_data(
        self,
        unknowns: Floats,
        reynolds: float,
        inverse_step: Floats | None = None,
        known: Sequence[Entries] | None = None,
    ) -> Floats:
        """Entries of the exact derivative, with each element's reciprocal pseudo-time step (E,).

        `known` are those of `linearised` on each chunk, where they have been computed.
        """

    @abstractmethod
    def axial_places(self, elements: Ints) -> Ints:
        """Places among the entries of axial test by axial trial, shape (F, 6, 6)."""

    @abstractmethod
    def integrand(self, unknowns: Floats, reynolds: float) -> Floats:
        """Integrand without pressure and grad-div against the tests' values and slopes.

        Shape (3 f, E, Q): value, axial and radial derivative of the test of axial velocity, of
        radial velocity, and of each field of the model's own.
        """

    @abstractmethod
    def field_state(self, vector: Floats, elements: slice) -> Floats:
        """Values, axial and radial derivatives of the fields of a vector, shape (3 f, e, Q)."""

    @abstractmethod
    def linearised(self, unknowns: Floats, reynolds: float, elements: slice) -> Linearised:
        """State, `integrand` and its derivative by the state, at some of the elements."""

    @abstractmethod
    def by_place(self, at: Linearised, reynolds: float, elements: slice) -> ByPlace:
        """Derivative of the integrand where the points are elsewhere."""

    def nearest_wall(self) -> tuple[sparse.csr_matrix, Floats] | None:
        """Share of each node (E * Q, nodes) in the wall's nearest points, and directions thence."""
        return None

    def chunks(self) -> list[slice]:
        """Slices of elements that are worked on together."""
        return [slice(start, start + CHUNK) for start in range(0, len(self.element_dofs), CHUNK)]

    def shifted(self, factor: float) -> "Equations":
        """The same with the place where the flow turns turbulent a factor farther downstream."""
        return self

    def turbulent_from(self, reynolds: float) -> float:
        """Scaled axial position from which on there may be an eddy viscosity."""
        return -np.inf

    def viscosity_ratio(self, unknowns: Floats) -> Floats | float:
        """1 + eddy viscosity over ν at the quadrature points of the mesh: (E, Q), or 1."""
        return 1.0
