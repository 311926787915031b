"""What both physics share in finite elements: sparse solves, Newton, recovery, grid uncertainty."""

import numpy as np
from numpy.typing import NDArray

#: Arrays of real numbers, and of indices.
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
