"""What a model of the flow gives the solver: its options, its equations and where to start."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from numpy.typing import NDArray

from borestudy.bore import Bore
from borestudy.fem import Floats
from borestudy.fem.continuation import Path
from borestudy.fem.newton import Steps

from .boundary import BoundaryValues
from .discretisation import GRAD_DIV, Discretisation
from .problem import Problem


@dataclass(frozen=True)
class Model(ABC):
    """What is solved, with its options: see `borestudy.flow.models`.

    Attributes
    ----------
    grad_div : float
        Grad-div parameter over throat velocity times diameter.
    name : str
        ``estimate``, ``laminar`` or ``turbulent``.
    lowest_reynolds : float
        Throat Reynolds number below which the model does not hold.
    steps, near_steps : Steps
        Options of Newton's method from the model's own start, and from one that is near.
    path : continuation.Path
        Options of the continuation along the branch.
    """

    grad_div: float = GRAD_DIV

    name: ClassVar[str]
    lowest_reynolds: ClassVar[float] = 0.0
    steps: ClassVar[Steps]
    near_steps: ClassVar[Steps]
    path: ClassVar[Path] = Path()

    @property
    def options(self) -> dict[str, Any]:
        """Everything that decides the solution, by name."""
        return {**asdict(self), "lowest_throat_reynolds": self.lowest_reynolds}

    def transition(self, reynolds: float) -> float | None:
        """Distance from the rim plane [throat diameters] at which the flow turns turbulent.

        None for a model that is laminar or turbulent everywhere.
        """
        return None

    def in_bore(self, bore: Bore) -> "Model":
        """The same model in another bore."""
        return self

    def ramp(self, reynolds: complex, scale: float = 1.0) -> NDArray | None:
        """Four numbers that say where and how the flow turns turbulent, None where no rule does.

        Its place, length, dose and first value: see the best estimate's rule.  The throat's own
        diameter is `scale` of those which everything is scaled by, the Reynolds number too.
        """
        return None

    @abstractmethod
    def problem(self, space: Discretisation, boundary: BoundaryValues) -> Problem:
        """The model's equations on a mesh, with the boundary values of velocity and pressure."""

    @abstractmethod
    def beginnings(self, reynolds: float) -> Sequence[float]:
        """Reynolds numbers, this or lower, at which the model's own start is tried."""

    @abstractmethod
    def own_start(self, problem: Problem, reynolds: float) -> Floats | None:
        """Unknowns to start from where nothing near is known."""

    def near(self, first: float, second: float) -> bool:
        """Whether the flow at one Reynolds number is a better start at another than `own_start`."""
        return True

    def admissible(self, problem: Problem, unknowns: Floats) -> Floats:
        """The nearest unknowns that can be started from, prescribed values set."""
        return problem.with_boundary_values(unknowns)
