"""One mesh with its boundary values: residual and factorised matrix over the free unknowns."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from borestudy.fem.dissection import nested_dissection
from borestudy.fem.sparse import Solve, factoriser
from borestudy.flow.boundary import BoundaryValues
from borestudy.flow.edges import EdgeTables, edge_tables
from borestudy.flow.outlet import outlet_derivative, outlet_residual

from .space import CoupledSpace

#: Working variable over ν in the air that comes in (Spalart & Rumsey 2007, AIAA J. 45, 2544:
#: 3 to 5, the least from which the model is turbulent everywhere).
INFLOW = 3.0


@dataclass(frozen=True)
class ClosureProblem:
    """What is solved on one mesh.

    Attributes
    ----------
    space : CoupledSpace
    values : ndarray, shape (unknowns,)
        Prescribed values, zero elsewhere.
    free : ndarray of int
        Unknowns that are solved for.
    pattern : csc matrix
        Over the free unknowns; its data number the entries of the whole matrix.
    factorise : callable
    outlet : EdgeTables
    element_size : ndarray, shape (E,)
        Square root of each element's area.
    """

    space: CoupledSpace
    values: NDArray[np.float64]
    free: NDArray[np.int64]
    pattern: sparse.csc_matrix
    factorise: Callable[[sparse.csc_matrix], Solve]
    outlet: EdgeTables
    element_size: NDArray[np.float64]

    def residual(self, unknowns: NDArray[np.float64], reynolds: float) -> NDArray[np.float64]:
        """Left side of the weak form against every test function, shape (unknowns,)."""
        whole = self.space.residual(unknowns, reynolds)
        flow = self.space.flow
        whole[: flow.nodes] += outlet_residual(self.outlet, flow.velocity(unknowns))
        return whole

    def matrix(
        self,
        unknowns: NDArray[np.float64],
        reynolds: float,
        inverse_step: NDArray[np.float64] | None = None,
    ) -> sparse.csc_matrix:
        """Derivative of the residual over the free unknowns, with a pseudo-time term if asked."""
        data = self.space.jacobian_data(unknowns, reynolds, inverse_step)
        places = self.space.scatter.reshape(-1, 18, 18)[self.outlet.element, :6, :6]
        velocity = self.space.flow.velocity(unknowns)
        np.add.at(data, places.ravel(), outlet_derivative(self.outlet, velocity).ravel())
        pattern = self.pattern
        return sparse.csc_matrix(
            (data[pattern.data], pattern.indices, pattern.indptr), shape=pattern.shape
        )


def closure_problem(
    space: CoupledSpace, boundary: BoundaryValues, inflow: float = INFLOW
) -> ClosureProblem:
    """Prescribe the working variable beside the flow's own boundary values.

    Parameters
    ----------
    space : CoupledSpace
        Where the unknowns live.
    boundary : BoundaryValues
        Of the velocity, with a free outlet.
    inflow : float
        χ at the rim plane; it is 0 on walls, and leaves without gradient at the shank end.
    """
    flow = space.flow
    vertices = flow.pressure_basis
    rim = vertices.get_dofs("rim_plane").flatten()
    wall = vertices.get_dofs("wall").flatten()
    working = np.zeros(vertices.N)
    working[rim] = inflow
    working[wall] = 0
    held = np.union1d(rim, wall)
    free_working = np.setdiff1d(np.arange(vertices.N), held)
    free = np.concatenate([boundary.free, flow.unknowns + free_working])
    pattern = space.pattern[free][:, free].tocsc()
    pattern.sort_indices()
    centres = flow.mesh.doflocs[:, flow.mesh.t[:3]].mean(axis=1)
    place = np.full(space.unknowns, -1)
    place[free] = np.arange(len(free))
    order = place[nested_dissection(space.dofs, centres)]
    corners = flow.mesh.doflocs[:, flow.mesh.t[:3]]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return ClosureProblem(
        space=space,
        values=np.concatenate([boundary.values, working]),
        free=free,
        pattern=pattern,
        factorise=factoriser(pattern, kind="saddle point", order=order[order >= 0]),
        outlet=edge_tables(flow, flow.mesh.boundaries["shank_end"]),
        element_size=np.sqrt(0.5 * np.abs(first[0] * second[1] - first[1] * second[0])),
    )
