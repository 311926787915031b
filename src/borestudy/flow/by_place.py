"""What the weak form's integrand does when a point of the mesh is elsewhere."""

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from borestudy.fem import Floats, Ints


@dataclass(frozen=True)
class PlaceValues:
    """Derivative of an integrand against tests by what its place decides, values and slopes held.

    Attributes
    ----------
    radius : ndarray, shape (E, Q)
    slopes : ndarray, shape (2, 2, E, Q), or None
        By the derivative of the motion's component k along j, by way of the element's metric.
    distance : ndarray, shape (E, Q), or None
        By the distance to the nearest wall.
    """

    radius: Floats
    slopes: Floats | None = None
    distance: Floats | None = None


class ByPlace(ABC):
    """What is needed of a state for `PlaceValues` against any tests."""

    @abstractmethod
    def against(self, tests: Floats) -> PlaceValues:
        """The values against tests of shape (3 f, E, Q), given as `Equations.integrand` is."""

    def of_ramp(self, tests: Floats, blurred: bool) -> tuple[Ints, Floats]:
        """What follows from where the flow turns turbulent, against the same tests.

        Its derivative jumps where the ramp begins and ends, from one point to the next: a further
        derivative of a sum over points is right where the jumps are blurred.

        Returns
        -------
        ndarray of int
            Numbers of the elements in which there is anything.
        ndarray, shape (5, elements, Q)
            There the derivatives by the distance from the rim plane and by the four numbers that
            say where and how the flow turns turbulent.
        """
        return np.zeros(0, dtype=np.int64), np.zeros((5, 0, tests.shape[-1]))
