r"""A resistance in the throat: the bore cut in two there, and joined again through it.

In the middle of a throat at least as long as wide the wave is plane, so that the cut bore is two
two-ports in a chain.  A series resistance R between them leaves the flow alone and takes R U from
the pressure; seen from the cup, what lies behind the cut is

.. math:: Z = R + Z_{back},

with the impedance of the back half and what follows the shank.  With R = 0 the chain is the whole
bore again, up to what the cut itself takes away: that difference is reported, not assumed.
"""

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.termination import Behind
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.air import Air


def behind_the_cut(back: TwoPort, behind: Behind, resistance: float = 0.0) -> Behind:
    """What the front half sees: a resistance, the back half, and what follows the shank.

    Parameters
    ----------
    back : TwoPort
        From the cut to the shank end.
    behind : Behind
        What follows the shank end.
    resistance : float [Pa·s/m³]
        In series at the cut.

    Returns
    -------
    Behind
        A termination for the front half.
    """

    def state(omega: NDArray[np.float64], air: Air) -> NDArray[np.complex128]:
        seen = resistance + input_impedance(back, behind, omega / (2 * np.pi), air=air)
        return np.column_stack([seen, np.ones_like(seen)])

    note = f"{behind.note}; " if behind.note else ""
    return Behind(
        kind=behind.kind,
        state=state,
        trusted_below=behind.trusted_below,
        note=f"{note}{resistance:.4g} Pa·s/m³ in series in the throat",
    )
