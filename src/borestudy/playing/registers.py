"""The registers of a bore: each has an impedance peak, and goes from dip to dip."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Register:
    """A peak of the impedance's magnitude, by places in an array of samples.

    Attributes
    ----------
    number : int
        Of the peak, from 1 at the lowest frequency.
    first, peak, last : int
        The least magnitude below the peak, or the first sample; the peak; the least magnitude
        above it, or the last sample.
    """

    number: int
    first: int
    peak: int
    last: int


def registers_of(impedance: Complex) -> list[Register]:
    """Registers from the lowest up, of an impedance at rising frequencies, shape (n,)."""
    size = np.abs(impedance)
    rising = np.diff(size) > 0
    peaks = 1 + np.flatnonzero(rising[:-1] & ~rising[1:])
    dips = 1 + np.flatnonzero(~rising[:-1] & rising[1:])
    ends = np.concatenate([[0], dips, [len(size) - 1]])
    return [
        Register(
            number,
            int(ends[np.searchsorted(ends, peak) - 1]),
            int(peak),
            int(ends[np.searchsorted(ends, peak)]),
        )
        for number, peak in enumerate(peaks, 1)
    ]
