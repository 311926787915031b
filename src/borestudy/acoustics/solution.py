"""A solved bore with a termination, as a notebook asks it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import ArrayLike

from borestudy.acoustics.result import AcousticResult, Resonance
from borestudy.acoustics.solve import acoustic_result, impedance_columns
from borestudy.acoustics.termination import Termination, build_termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.records import Rows

if TYPE_CHECKING:
    import pandas as pd

#: Frequencies of a curve that is drawn.
POINTS = 2001


@dataclass(frozen=True, repr=False)
class AcousticSolution:
    """A bore's two-port, solved once, and the termination of its shank end.

    Attributes
    ----------
    two_port : TwoPort
        The bore between rim plane and shank end, on every mesh.
    termination : Termination
        An anechoic pipe by default.
    """

    two_port: TwoPort
    termination: Termination

    def with_termination(self, termination: str | Mapping[str, str]) -> "AcousticSolution":
        """The same bore with another termination; nothing is solved anew.

        Parameters
        ----------
        termination : str or mapping
            ``"anechoic pipe"``, ``"open"``, ``"open flanged"``, ``"closed"`` or
            ``{"air column": "air-column.csv"}``.

        Raises
        ------
        ValueError
            Naming what was found, what is allowed, and an example.
        """
        radius, walls = self.two_port.shank_radius, self.two_port.walls
        return replace(self, termination=terminated(termination, radius, walls))

    @cached_property
    def result(self) -> AcousticResult:
        """All that the workflow's ``acoustics.json`` says of a case."""
        return acoustic_result(self.two_port, self.termination)

    def resonances(self) -> Rows[Resonance]:
        """The peaks of the input impedance at the rim plane, the lowest first."""
        return Rows(self.result.resonances)

    def impedance(self, frequencies: ArrayLike) -> "pd.DataFrame":
        """The input impedance at the rim plane, p/U, with its numerical uncertainty.

        Parameters
        ----------
        frequencies : array_like, shape (n,) [Hz]
            Inside the range that was solved.

        Returns
        -------
        DataFrame
            A row for each frequency, with the columns of ``impedance.csv``.
        """
        lowest, highest = self.two_port.range_Hz
        for frequency in np.atleast_1d(np.asarray(frequencies, dtype=float)):
            if not lowest <= frequency <= highest:
                raise ValueError(
                    f"frequencies: found {frequency:g} Hz; allowed is {lowest:g} Hz to "
                    f"{highest:g} Hz, which were solved, for example {(lowest + highest) / 2:g}"
                )
        import pandas as pd  # not to be waited for by whoever asks for peaks alone

        return pd.DataFrame(impedance_columns(self.two_port, self.termination, frequencies))

    def to_frame(self) -> "pd.DataFrame":
        """A table with a row for each resonance; columns carry their units."""
        return self.resonances().to_frame()

    def plot(self, axes: Any | None = None, **style: Any) -> Any:
        """Draw the input impedance's magnitude and mark its peaks.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            Axes to draw on; new ones by default.
        **style
            Colour and label, as matplotlib takes them.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from borestudy.drawing.plots import plot_impedance

        table = self.impedance(np.linspace(*self.two_port.range_Hz, POINTS))
        return plot_impedance(table, self.resonances(), axes, **style)

    def __repr__(self) -> str:
        """The termination, a line for each resonance, and where the model ends."""
        words = "" if self.result.validity == "good" else f"\n{self.result.validity}"
        return f"Resonances with {self.termination.kind}:\n{self.resonances()}{words}"


def terminated(termination: str | Mapping[str, str], radius: float, walls: str) -> Termination:
    """What a study's words for a termination mean at a shank end of a radius [m]."""
    if isinstance(termination, Mapping) and set(termination) == {"air column"}:
        return build_termination("air column", radius, walls, termination["air column"])
    return build_termination(cast("str", termination), radius, walls)  # which refuses all but words
