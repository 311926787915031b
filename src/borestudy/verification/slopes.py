"""Derivatives of resonances by dimensions against answers that are known, as exponents."""

from collections.abc import Mapping

import numpy as np

from borestudy.acoustics.resonances import lossless_resonances, resonance_figures
from borestudy.acoustics.sensitivity import slopes_by_dimension
from borestudy.acoustics.termination import Kind, build_termination
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.acoustics.walls import Complex, Real
from borestudy.intervals import CENTS_PER_SHARE
from borestudy.results.check import Check
from borestudy.verification.exponents import power

#: What a reduced basis and a mesh leave out of an acoustic derivative, 0.1 % each, the wall
#: condition or a cone's plane faces as much again, and a quarter of it all.
PERCENT = 0.4


def check_slopes(
    name: str, two_port: TwoPort, kind: Kind, known: Mapping[tuple[str, str], float], source: str
) -> list[Check]:
    """Exponents of dimensions in the first resonance's frequency or Q.

    Parameters
    ----------
    name : str
        The bore in words.
    two_port : TwoPort
        Solved with its dimensions, in metres.
    kind : str
        What is at the shank end.
    known : mapping of (str, str) to float
        Exponents by the figure, ``frequency`` or ``Q``, and the dimension's key.
    source : str
        Where they are from.
    """
    end = build_termination(kind, two_port.shank_radius, two_port.walls)

    def impedance(frequencies: Real) -> Complex:
        return input_impedance(two_port, end, frequencies)

    figures = np.full((1, 1, 3), np.nan)
    if two_port.walls == "lossless":
        figures[0, 0, 0] = lossless_resonances(impedance, *two_port.range_Hz)[0]
    else:
        figures[0, 0] = resonance_figures(impedance, *two_port.range_Hz)[0]
    slopes = slopes_by_dimension(two_port, end, figures)[0]
    sizes = dict(zip(two_port.dimensions, two_port.values, strict=True))
    units = {"frequency": CENTS_PER_SHARE, "Q": figures[0, 0, 1]}
    words = {"frequency": "resonance 1", "Q": "Q of resonance 1"}
    return [
        Check(
            name,
            f"exponent of {key.replace('_', ' ')} in {words[figure]}",
            "",
            power(getattr(slopes[key], figure), sizes[key], units[figure]),
            exact,
            PERCENT,
            source,
        )
        for (figure, key), exact in known.items()
    ]
