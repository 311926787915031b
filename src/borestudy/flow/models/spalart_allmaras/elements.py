"""Values at quadrature points and integrals against test functions, by one triangle's tables.

Slopes are taken along the reference triangle's coordinates, in which every product of two basis
functions is the same for all elements: the element matrices of a pair of fields are then one dense
product of coefficients (elements × points) and a table (points × pairs of functions).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from borestudy.fem import Floats
from borestudy.flow.convection import value_and_gradient
from borestudy.flow.equations import Entries


@dataclass(frozen=True)
class ElementTables:
    """Fields on E elements with Q quadrature points.

    Attributes
    ----------
    places : sequence of slice
        Place of each field's k functions among the unknowns of an element.
    functions : sequence of ndarray, shape (3, k, Q)
        Each field's functions and their two reference derivatives.
    products : dict of ndarray, shape (3, 3, Q, k, l)
        By numbers of test and trial field.
    weights : ndarray, shape (E, Q)
        Quadrature weight times Jacobian determinant times radius.
    inverse_jacobian : ndarray, shape (2, 2, E, Q)
        Reference coordinate by physical coordinate.
    """

    places: Sequence[slice]
    functions: Sequence[Floats]
    products: Mapping[tuple[int, int], Floats]
    weights: Floats
    inverse_jacobian: Floats

    def state(self, local: NDArray, elements: slice, fields: int) -> NDArray:
        """Value, axial and radial derivative of the first fields, shape (3 fields, e, Q).

        `local` has the unknowns of the elements, shape (e, ...), real or complex.
        """
        inverse = self.inverse_jacobian[:, :, elements]
        parts = []
        for place, functions in zip(self.places[:fields], self.functions, strict=False):
            value, gradient = value_and_gradient(
                local[None, :, place], functions[0], functions[1:], inverse
            )
            parts += [value, gradient[0]]
        return np.concatenate(parts)

    def tested(self, integrand: Floats, elements: slice) -> Floats:
        """Integrals of an integrand (3 fields, e, Q) against the tests, shape (e, unknowns)."""
        weighted = integrand * self.weights[elements]
        inverse = self.inverse_jacobian[:, :, elements]
        tested = np.zeros((weighted.shape[1], max(place.stop for place in self.places)))
        for number in range(len(integrand) // 3):
            value, *slopes = weighted[3 * number : 3 * number + 3]
            parts = [value, *_along_reference(slopes, inverse)]
            for part, functions in zip(parts, self.functions[number], strict=True):
                tested[:, self.places[number]] += part @ functions.T
        return tested

    def add_matrices(self, matrices: Floats, entries: Entries, elements: slice) -> None:
        """Add the integrals of entries times tests times trials to matrices (e, m, m)."""
        inverse = self.inverse_jacobian[:, :, elements]
        for (test, trial), products in self.products.items():
            rows = [
                [entries.get((3 * test + row, 3 * trial + column)) for column in range(3)]
                for row in range(3)
            ]
            by_column = [[row[0], *_along_reference(row[1:], inverse)] for row in rows]
            turned = [[column[0], *_along_reference(column[1:], inverse)]
                      for column in zip(*by_column, strict=True)]  # fmt: skip
            found = [
                (part * self.weights[elements], products[row, column])
                for column, parts in enumerate(turned)
                for row, part in enumerate(parts)
                if part is not None
            ]
            if found:
                count, tests, trials = len(found[0][0]), *products.shape[-2:]
                table = np.concatenate([of for _, of in found]).reshape(-1, tests * trials)
                block = np.concatenate([part for part, _ in found], axis=1) @ table
                place = self.places[test], self.places[trial]
                matrices[:, place[0], place[1]] += block.reshape(count, tests, trials)


def element_tables(
    fields: Sequence[tuple[slice, Floats, Floats]], weights: Floats, inverse: Floats
) -> ElementTables:
    """Tables of fields, given by place, functions (k, Q) and reference derivatives (2, k, Q)."""
    places = [place for place, _, _ in fields]
    functions = [np.concatenate([values[None], slopes]) for _, values, slopes in fields]
    products = {
        (test, trial): np.einsum("aiq,bjq->abqij", functions[test], functions[trial])
        for test in range(len(fields))
        for trial in range(len(fields))
    }
    return ElementTables(places, functions, products, weights, inverse)


def _along_reference(
    parts: Sequence[Floats | None], inverse: Floats
) -> tuple[Floats | None, Floats | None]:
    """Coefficients of the two reference derivatives from those of the axial and the radial one."""
    axial, radial = parts
    if axial is None:
        return (None, None) if radial is None else (radial * inverse[0, 1], radial * inverse[1, 1])
    if radial is None:
        return axial * inverse[0, 0], axial * inverse[1, 0]
    first, second = (axial * inverse[k, 0] + radial * inverse[k, 1] for k in (0, 1))
    return first, second
