"""Musical intervals: the only place that knows how a ratio of frequencies becomes cents.

An octave is the ratio 2 and has 1200 cents, so that an equal-tempered semitone,
:math:`2^{1/12}`, has 100 (Ellis, A. J. 1885, in his translation of Helmholtz, On the Sensations of
Tone, appendix XX; from memory).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CENTS_PER_OCTAVE = 1200.0
#: Cents for a small relative change of a frequency: the derivative of cents by its logarithm.
CENTS_PER_SHARE = CENTS_PER_OCTAVE / float(np.log(2))


def cents(ratio: ArrayLike) -> NDArray[np.float64]:
    """Cents of ratios of frequencies above 0, in their shape; below 0 for a ratio below 1.

    >>> float(cents(2.0))
    1200.0
    """
    return np.asarray(CENTS_PER_OCTAVE * np.log2(np.asarray(ratio, dtype=float)))


def ratio_of_cents(interval: ArrayLike) -> NDArray[np.float64]:
    """Ratio of frequencies that an interval in cents makes: what `cents` takes back."""
    return np.asarray(2.0 ** (np.asarray(interval, dtype=float) / CENTS_PER_OCTAVE))
