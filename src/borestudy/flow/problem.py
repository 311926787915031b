"""What a model of the flow gives on a mesh, and what a solution of it is: the same for every model.

The vector of unknowns is axial velocity, radial velocity (n values each), pressure (m values), then
whatever the model has of its own, in blocks of m vertex values.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from .boundary import BoundaryValues
from .discretisation import Discretisation
from .edges import EdgeTables


@dataclass(frozen=True)
class State:
    """A solution at one Reynolds number.

    Attributes
    ----------
    reynolds : float
        Throat Reynolds number.
    unknowns : ndarray, shape (unknowns,)
    tangent : ndarray, shape (unknowns,)
        Derivative of `unknowns` by the Reynolds number along the branch of solutions.
    residual : float
        Norm of what is left of the weak form over the norm of its pressure term, or of the model's
        own equation over its scale where that is more.
    steps, factorisations : int
        Newton steps that were taken, and how many of them with factors of their own.
    adjoint : ndarray, shape (unknowns,), or None
        By how much the work of the rim plane's traction changes with a unit of residual in each
        equation, the weight of :mod:`borestudy.flow.goal_error`; None where it was not solved for.
    converged : bool
        False for an iterate that is no solution; its tangent is zero.
    """

    reynolds: float
    unknowns: NDArray[np.float64]
    tangent: NDArray[np.float64]
    residual: float
    steps: int
    factorisations: int
    adjoint: NDArray[np.float64] | None = None
    converged: bool = True

    @property
    def parameter(self) -> float:
        """What the branch is followed in."""
        return self.reynolds


class Problem(Protocol):
    """One mesh with its boundary values and the equations of one model.

    Attributes
    ----------
    space : Discretisation
        Of velocity and pressure; its `velocity` and `pressure` take any model's unknowns.
    boundary : BoundaryValues
        Prescribed values and free unknowns, the model's own included.
    outlet : EdgeTables or None
        The shank end where the flow leaves freely.
    stabilisation : float
        Grad-div parameter.
    """

    @property
    def space(self) -> Discretisation: ...
    @property
    def boundary(self) -> BoundaryValues: ...
    @property
    def outlet(self) -> EdgeTables | None: ...
    @property
    def stabilisation(self) -> float: ...

    def residual(self, unknowns: NDArray[np.float64], reynolds: float) -> NDArray[np.float64]:
        """Left side of the weak form against every test function, momentum first."""

    def residual_slope(
        self, unknowns: NDArray[np.float64], reynolds: float, change: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Derivative of the residual where the unknowns move by `change` with Reynolds number."""

    def viscosity_ratio(self, unknowns: NDArray[np.float64]) -> NDArray[np.float64] | float:
        """1 + eddy viscosity over ν at the quadrature points of `space.tables`: (E, Q), or 1."""


@dataclass(frozen=True)
class Level:
    """One mesh's problem with its states.

    Attributes
    ----------
    problem : Problem
    states : list of State or None
        One for each Reynolds number of the ladder; None where there is no solution on this mesh,
        or where none was wanted.
    sections : dict of str to EdgeTables
        The rim plane, the end of each part and the shank end, in order downstream.
    estimated_error : callable
        From a state to its dual-weighted residual estimate: the exact pressure drop less the
        computed one, scaled by ρU².
    steps, failed_steps : int
        Newton steps in all, and steps along the branch that had to be shortened.
    seconds : float
        Time that this mesh took.
    """

    problem: Problem
    states: list[State | None]
    sections: dict[str, EdgeTables]
    estimated_error: Callable[[State], float]
    steps: int
    failed_steps: int
    seconds: float
