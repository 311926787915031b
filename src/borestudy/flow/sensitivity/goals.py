"""The figures that derivatives are wanted of on one mesh, their adjoints and derivatives."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats
from borestudy.flow.edges import EdgeTables
from borestudy.flow.problem import Problem, State

from .form import LinearForm, MovingPoints, moving_points

#: Names of the figures as in `DropSlope`, and of the first one's change with the Reynolds number.
DROP, TO_THROAT, TURN = "pressure_drop", "pressure_drop_to_throat_end", "by_reynolds"
#: Step in the Reynolds number, as a share of it, of differences along the branch.
STEP = 1e-6
#: Share of a load that a solve may leave.
TOLERANCE = 1e-5
#: Solves with the transposed derivative of the residual over the free unknowns, to a tolerance.
Transposed = Callable[[Floats, float], Floats]


@dataclass(frozen=True)
class Goals:
    """What is prepared once for a mesh.

    Attributes
    ----------
    problem : Problem
    points : MovingPoints
    rim : EdgeTables
    throat_end : EdgeTables or None
        The section at the throat's end, where the mesh has one.
    """

    problem: Problem
    points: MovingPoints
    rim: EdgeTables
    throat_end: EdgeTables | None

    def form(self, unknowns: Floats, reynolds: float) -> LinearForm:
        """The weak form's derivatives at a state."""
        return LinearForm(self.problem, self.points, unknowns, reynolds)

    def by_shape(self, state: State, form: LinearForm, solve: Transposed) -> Mapping[str, Floats]:
        """Derivatives of the scaled figures by the mesh and the model's own numbers.

        Parameters
        ----------
        state : State
            A solution with its tangent and the adjoint of its pressure drop.
        form : LinearForm
            The weak form's derivatives at it.
        solve : callable
            Solves with the transposed derivative of the residual at it.

        Returns
        -------
        mapping of str to ndarray, shape (2 * nodes + 5,)
            See `LinearForm.by_shape`; by the names of the figures.
        """
        assert state.adjoint is not None
        free = self.problem.free
        whole = state.adjoint
        before = form.by_unknowns(whole)
        drop, here = form.by_shape(whole)
        found = {DROP: drop}
        if self.throat_end is not None:
            # less the pressure there, in place of less that at the shank end
            load = self._mean(self.throat_end) + self._shank_end(state.unknowns)
            part = whole.copy()
            part[free] += solve(load[free], TOLERANCE)
            found[TO_THROAT], _ = form.by_shape(part)
        # along the branch, on which the adjoint moves too
        step = STEP * state.reynolds
        ahead = state.unknowns + step * state.tangent
        beyond = self.form(ahead, state.reynolds + step)
        turned = beyond.by_unknowns(whole) - before
        turned += self.beyond_work(ahead) - self.beyond_work(state.unknowns)
        moved = whole.copy()
        moved[free] -= solve(turned[free], TOLERANCE)
        _, there = beyond.by_shape(moved)
        found[TURN] = (there - here) / step
        return found

    def beyond_work(self, unknowns: Floats) -> Floats:
        """Derivative by the unknowns of the pressure drop less the work at the rim plane.

        That is of the rim plane's mean pressure by area less that by flux, less the shank end's.
        """
        speed = self.rim.velocity(unknowns[None, : self.problem.space.nodes])[0]
        by_flux = speed * self.rim.weights
        return self._mean(self.rim) - self._mean(self.rim, by_flux) + self._shank_end(unknowns)

    def _shank_end(self, unknowns: Floats) -> Floats:
        """Derivative by the unknowns of how far the shank end's mean pressure is below zero."""
        found, outlet = np.zeros_like(unknowns), self.problem.outlet
        if outlet is not None:
            inward = np.minimum(outlet.velocity(unknowns[None, : self.problem.space.nodes])[0], 0)
            weights = inward * outlet.weights / np.sum(outlet.weights)
            local = np.einsum("fq,fqi->fi", weights, outlet.functions)
            np.add.at(found, outlet.velocity_dofs, local)
        return found

    def _mean(self, section: EdgeTables, weights: Floats | None = None) -> Floats:
        """Derivative by the unknowns of a section's mean pressure, by area or other weights."""
        space = self.problem.space
        weights = section.weights if weights is None else weights
        found = np.zeros_like(self.problem.boundary.values)
        share = weights / np.sum(weights)
        local = np.einsum("fq,fqi->fi", share, section.pressure_functions)
        np.add.at(found, 2 * space.nodes + section.pressure_dofs, local)
        return found


def goals(problem: Problem, rim: EdgeTables, throat_end: EdgeTables | None = None) -> Goals:
    """Prepare a mesh, with two of its sections."""
    return Goals(problem, moving_points(problem), rim, throat_end)
