"""One piece of the generatrix: a rational Bézier curve, which is a line, a conic or a cubic.

    C(t) = Σ B_i(t) w_i P_i / Σ B_i(t) w_i,   0 ≤ t ≤ 1,   P = (x, r)

Circles and ellipses are exact as conics of middle weight cos(half the turning angle).

References
----------
Piegl & Tiller, The NURBS Book, 2nd ed. 1997, sections 1.4 (evaluation, subdivision) and 7.3
(circular arcs).
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import quad
from scipy.optimize import brentq

# Gauss-Legendre on (0, 1): exact for lines and cubics, to rounding for conics, whose integrand is
# smooth (poles no nearer than those of the weights).
_GAUSS = np.polynomial.legendre.leggauss(40)
_NODES, _WEIGHTS = (_GAUSS[0] + 1) / 2, _GAUSS[1] / 2


@dataclass(frozen=True, eq=False)
class Segment:
    """A rational Bézier curve with the name of the bore's part it belongs to.

    Attributes
    ----------
    points : ndarray, shape (degree + 1, 2) [m]
        Control points (x, r).
    weights : ndarray, shape (degree + 1,)
    part : str
        ``cup``, ``entry``, ``throat``, ``backbore`` or ``pipe``.
    """

    points: NDArray[np.float64]
    weights: NDArray[np.float64]
    part: str

    @property
    def degree(self) -> int:
        """1 for a line, 2 for a conic, 3 for a cubic."""
        return len(self.points) - 1

    @property
    def start(self) -> NDArray[np.float64]:
        """First point, shape (2,) [m]."""
        return self.points[0]

    @property
    def stop(self) -> NDArray[np.float64]:
        """Last point, shape (2,) [m]."""
        return self.points[-1]

    @property
    def is_step(self) -> bool:
        """Whether all of it lies at one position along the axis."""
        return bool(np.ptp(self.points[:, 0]) == 0)

    def __call__(self, parameter: ArrayLike) -> NDArray[np.float64]:
        """Points on the curve, shape of ``parameter`` + (2,) [m]."""
        homogeneous = self.blend(self._homogeneous(), parameter)
        return homogeneous[..., :2] / homogeneous[..., 2:]

    def derivative(self, parameter: ArrayLike) -> NDArray[np.float64]:
        """dC/dt, shape of ``parameter`` + (2,) [m]."""
        control = self._homogeneous()
        value = self.blend(control, parameter)
        slope = self.blend(self.degree * np.diff(control, axis=0), parameter)
        point = value[..., :2] / value[..., 2:]
        return np.asarray((slope[..., :2] - point * slope[..., 2:]) / value[..., 2:])

    def tangent(self, parameter: float) -> NDArray[np.float64]:
        """Unit tangent, shape (2,)."""
        direction = self.derivative(parameter)
        return np.asarray(direction / np.linalg.norm(direction))

    def volume(self) -> float:
        """Volume of revolution between the curve and the axis, π ∫ r² dx [m³]."""
        radius, run = self(_NODES)[:, 1], self.derivative(_NODES)[:, 0]
        return float(np.pi * (_WEIGHTS @ (radius**2 * run)))

    def arc_length(self) -> float:
        """Length along the wall [m]."""
        return quad(lambda t: float(np.linalg.norm(self.derivative(t))), 0, 1, epsrel=1e-12)[0]

    def parameter_at(self, value: float, axis: int) -> float:
        """Where x (axis 0) or r (axis 1) has a value that lies between its ends."""
        first, last = self.start[axis], self.stop[axis]
        if value in (first, last):
            return 0.0 if value == first else 1.0
        return float(brentq(lambda t: self(t)[axis] - value, 0, 1, xtol=1e-15, rtol=1e-14))

    def split(self, parameter: float) -> tuple["Segment", "Segment"]:
        """The two pieces before and after a parameter, by de Casteljau's subdivision."""
        level = self._homogeneous()
        first, last = [level[0]], [level[-1]]
        while len(level) > 1:
            level = (1 - parameter) * level[:-1] + parameter * level[1:]
            first.append(level[0])
            last.append(level[-1])
        return self._from_homogeneous(first), self._from_homogeneous(last[::-1])

    def scaled(self, along_axis: float) -> "Segment":
        """The curve with x multiplied by a factor; affine maps keep the weights."""
        return Segment(self.points * [along_axis, 1.0], self.weights, self.part)

    def named(self, part: str) -> "Segment":
        """The same curve as another part."""
        return Segment(self.points, self.weights, part)

    def _homogeneous(self) -> NDArray[np.float64]:
        return np.column_stack([self.points * self.weights[:, None], self.weights])

    @staticmethod
    def blend(control: NDArray[np.float64], parameter: ArrayLike) -> NDArray[np.float64]:
        """Σ B_i(t) of rows of ``control``, shape of ``parameter`` + (columns,): de Casteljau."""
        t = np.asarray(parameter, float)[..., None]
        if t.ndim == 1:  # a single parameter, as of the search for a fillet: all rows at once
            rows = control
            while len(rows) > 1:
                rows = (1 - t) * rows[:-1] + t * rows[1:]
            return np.asarray(rows[0])
        layer = [np.broadcast_to(row, (*t.shape[:-1], len(row))) for row in control]
        while len(layer) > 1:
            layer = [(1 - t) * before + t * after for before, after in pairwise(layer)]
        return np.asarray(layer[0])

    def _from_homogeneous(self, rows: list[NDArray[np.float64]]) -> "Segment":
        homogeneous = np.array(rows)
        weights = homogeneous[:, 2]
        return Segment(homogeneous[:, :2] / weights[:, None], weights, self.part)


def line(start: ArrayLike, stop: ArrayLike, part: str) -> Segment:
    """A straight segment from (x, r) to (x, r) [m]."""
    return Segment(np.array([start, stop], float), np.ones(2), part)


def polyline(first: ArrayLike, *legs: tuple[float, float, str]) -> list[Segment]:
    """Straight segments from (x, r) to each next (x, r) [m], each in a part of that name."""
    corners = [first, *((x, r) for x, r, _ in legs)]
    return [
        line(start, stop, part)
        for start, stop, (_, _, part) in zip(corners, corners[1:], legs, strict=False)
    ]


def conic(
    start: ArrayLike, control: ArrayLike, stop: ArrayLike, weight: float, part: str
) -> Segment:
    """A conic arc, tangent to its two control legs [m]."""
    return Segment(np.array([start, control, stop], float), np.array([1.0, weight, 1.0]), part)
