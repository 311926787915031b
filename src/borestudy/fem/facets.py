"""Facet bases on meshes that are graded over many orders of magnitude.

scikit-fem finds the reference coordinates of a facet's quadrature points by Newton's method and
asks for 1e-12 of the element.  Where an element is a millionth of its distance from the origin,
rounding of the coordinates alone is above that and the iteration never ends well.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from skfem import Element, FacetBasis, MeshTri2
from skfem.mapping import MappingIsoparametric

NEWTON_TOLERANCE = 1e-12
ROUNDINGS = 100.0


class RoundingAwareMapping(MappingIsoparametric):
    """The isoparametric map, whose inverse asks for no more than the coordinates hold."""

    def invF(
        self,
        x: NDArray,
        tind: NDArray | None = None,
        newton_max_iters: int = 50,
        newton_tol: float = NEWTON_TOLERANCE,
    ) -> NDArray:
        centre = np.full((2, 1), 1 / 3)
        sizes = np.sqrt(np.abs(self.detDF(centre, tind)))
        height = np.abs(x).max() * np.finfo(float).eps / sizes.min()
        # how much longer than its mean size an element is, at most
        aspect = float((np.abs(self.DF(centre, tind)).max(axis=(0, 1)) / sizes).max())
        tolerance = max(newton_tol, ROUNDINGS * x.shape[-1] * height * aspect)
        return np.asarray(super().invF(x, tind, newton_max_iters, tolerance))


def facet_basis(mesh: MeshTri2, element: Element, facets: Any, intorder: int) -> FacetBasis:
    """A :class:`skfem.FacetBasis` that also works where the mesh is very fine."""
    mapping = RoundingAwareMapping(mesh, mesh.elem(), mesh.bndelem)
    return FacetBasis(mesh, element, mapping=mapping, facets=facets, intorder=intorder)
