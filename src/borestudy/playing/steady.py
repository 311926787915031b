"""The steady pressure drop of a bore at any flow rate, from a few."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]


@dataclass(frozen=True)
class SteadyDrop:
    """Pressure drop by flow rate: cubic between the rates that are known, by value and slope.

    From no flow to the first rate, and beyond the last one, the drop is the two terms
    :math:`a U + b U^2` that have value and slope there.

    Attributes
    ----------
    rates : ndarray, shape (n,)
        Rising flow rates, all above 0 [m³/s].
    drops, slopes : ndarray, shape (n,)
        Pressure drop [Pa] and its derivative by the flow rate [Pa·s/m³] at each.
    """

    rates: Real
    drops: Real
    slopes: Real

    @classmethod
    def none(cls) -> "SteadyDrop":
        """No pressure drop at any rate."""
        return cls(np.array([1e-4]), np.zeros(1), np.zeros(1))

    @classmethod
    def of(
        cls, rates: Sequence[float], drops: Sequence[float], slopes: Sequence[float]
    ) -> "SteadyDrop":
        """The same from sequences.

        Raises
        ------
        ValueError
            If there is no rate, the rates do not rise from above 0, or not every rate has a finite
            drop and slope.
        """
        of = np.asarray(rates, dtype=float)
        if not (len(of) and of[0] > 0 and np.all(np.diff(of) > 0) and of[-1] < np.inf):
            raise ValueError(
                f"flow rates: found {of.tolist()}; allowed are rising ones above 0 m³/s, for "
                "example 5e-5, 1e-4"
            )
        found = {"drops": np.asarray(drops, float), "slopes": np.asarray(slopes, float)}
        for name, values in found.items():
            if values.shape != of.shape or not np.all(np.isfinite(values)):
                raise ValueError(
                    f"{name}: found {values.tolist()} at the flow rates {of.tolist()}; allowed is "
                    "a finite number at each rate, for example 100.0 at 5e-5"
                )
        return cls(of, **found)

    @property
    def greatest_rate(self) -> float:
        """The greatest flow rate that is known [m³/s]; beyond it the drop is an extrapolation."""
        return float(self.rates[-1])

    def drop(self, rate: ArrayLike) -> Real:
        """Pressure drop [Pa] at flow rates of 0 and above [m³/s], of their shape."""
        return self._evaluated(rate)[0]

    def slope(self, rate: ArrayLike) -> Real:
        """Derivative of the pressure drop by the flow rate [Pa·s/m³]."""
        return self._evaluated(rate)[1]

    def _evaluated(self, rate: ArrayLike) -> tuple[Real, Real]:
        at = np.asarray(rate, dtype=float)
        inside = np.clip(np.searchsorted(self.rates, at, side="right") - 1, 0, len(self.rates) - 1)
        known, drop, slope = self.rates[inside], self.drops[inside], self.slopes[inside]
        # a U + b U² with value and slope at the rate before it, or at the first.
        square = (slope - drop / known) / known
        linear = drop / known - square * known
        value, derivative = at * (linear + square * at), linear + 2 * square * at
        between = (at > self.rates[0]) & (at < self.rates[-1])
        if np.any(between):
            after = np.minimum(inside + 1, len(self.rates) - 1)
            step = np.where(between, self.rates[after] - known, 1.0)
            place = (at - known) / step
            rise = self.drops[after] - drop
            ahead, behind = slope * step - rise, rise - self.slopes[after] * step
            bump = place * (1 - place)
            cubic = drop + place * rise + bump * (ahead * (1 - place) + behind * place)
            by_place = (
                rise
                + (1 - 2 * place) * (ahead * (1 - place) + behind * place)
                + bump * (behind - ahead)
            )
            value = np.where(between, cubic, value)
            derivative = np.where(between, by_place / step, derivative)
        return value, derivative
