r"""What the lips blow into: the bore, cut in its throat, and what is behind it, by frequency.

The front half has the impedance matrix :math:`Z_{ij}` between rim plane and cut, both flows into
it; behind the cut follow the throat's resistance :math:`R` in series, which the stream makes, and
the impedance :math:`Z_b` of the back half with its termination.  The lips feel

.. math:: Z = Z_{11} - \frac{Z_{12} Z_{21}}{Z_{22} + R + Z_b} + \Delta Z,

with the small :math:`\Delta Z` by which the whole bore differs from its joined halves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.playing.steady import Real, SteadyDrop

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Load:
    """Impedances at the samples of a frequency grid, and the steady pressure drop.

    Attributes
    ----------
    frequencies : ndarray, shape (n,)
        Rising frequencies [Hz].
    front : ndarray, shape (n, 2, 2)
        Impedance matrix of the front half [Pa·s/m³].
    behind : ndarray, shape (n,)
        Impedance after the cut and the resistance [Pa·s/m³].
    to_shank : ndarray, shape (n,)
        Pressure at the shank end by the pressure after the cut and the resistance.
    correction : ndarray, shape (n,)
        Impedance of the whole bore less that of the joined halves without resistance [Pa·s/m³].
    steady : SteadyDrop
        Of the mouthpiece.
    throat_diameter, density : float
        [m], [kg/m³].

    Raises
    ------
    ValueError
        If the frequencies do not rise from above 0, or an impedance is not of as many.
    """

    frequencies: Real
    front: Complex
    behind: Complex
    to_shank: Complex
    correction: Complex
    steady: SteadyDrop
    throat_diameter: float
    density: float

    def __post_init__(self) -> None:
        """Refuse arrays that do not belong together."""
        count = len(self.frequencies)
        if not (count and self.frequencies[0] > 0 and np.all(np.diff(self.frequencies) > 0)):
            raise ValueError(
                f"frequencies: found {count} of them that do not rise from above 0 Hz; allowed are "
                "rising ones, for example 50, 51, 52"
            )
        shapes = {"front": (count, 2, 2)} | dict.fromkeys(
            ("behind", "to_shank", "correction"), (count,)
        )
        for name, shape in shapes.items():
            if (found := np.shape(getattr(self, name))) != shape:
                raise ValueError(
                    f"{name}: found an array of shape {found}; allowed is one entry a frequency, "
                    f"for example of shape {shape}"
                )

    def impedance(self, resistance: ArrayLike = 0.0) -> Complex:
        """Input impedance at the rim plane [Pa·s/m³] with resistances that go with the samples."""
        return self.front[:, 0, 0] - self.front[:, 0, 1] * self._through(resistance) + (
            self.correction
        )  # fmt: skip

    def shank_pressure(self, resistance: ArrayLike = 0.0) -> Complex:
        """Pressure at the shank end by the flow into the rim plane [Pa·s/m³]."""
        return self.to_shank * self.behind * self._through(resistance)

    def _through(self, resistance: ArrayLike) -> Complex:
        """Flow through the cut by the flow into the rim plane."""
        found = self.front[:, 1, 0] / (self.front[:, 1, 1] + np.asarray(resistance) + self.behind)
        return np.asarray(found, dtype=complex)
