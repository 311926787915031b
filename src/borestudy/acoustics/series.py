r"""A resistance in the throat: the bore cut in two there, and joined again through it.

In the middle of a throat at least as long as wide the wave is plane, so that the cut bore is two
two-ports in a chain.  A series resistance R between them leaves the flow alone and takes R U from
the pressure; the front half's load at the cut is

.. math:: Z = R + Z_{back},

with the input impedance of the back half and its termination.  With R = 0 the chain is the whole
bore again, up to what the cut itself takes away: that difference is reported, not assumed.
"""

from dataclasses import replace

import numpy as np

from borestudy.acoustics.termination import Ratio, Termination
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.acoustics.walls import Real
from borestudy.air import Air


def termination_at_cut(
    back: TwoPort, termination: Termination, resistance: float = 0.0
) -> Termination:
    """Termination of the front half: a resistance [Pa·s/m³], then the back half.

    The back half leads from the cut to the shank end, whose termination is given.
    """

    def ratio(omega: Real, air: Air) -> Ratio:
        return resistance + input_impedance(back, termination, omega / (2 * np.pi)), 1.0

    note = f"{termination.note}; " if termination.note else ""
    note = f"{note}{resistance:.4g} Pa·s/m³ in series in the throat"
    return replace(termination, ratio=ratio, note=note)
