r"""Power balance: what goes in at the rim plane is lost at the wall or leaves at the shank.

With :math:`p = \sum_j g_j A^{-1} b_j` the inlet's power is
:math:`\tfrac12\mathrm{Re}\,(p^H b_1 g_1/(i\omega\rho))`, flow in the layer included, and the
wall's is that of the wall matrices alone, whose factors are not real.
Pressures are weighted here with the adjoint load; the impedance uses the transpose, which differs
where the pressure is not uniform over a port (a few 1e-5 of the power of a mouthpiece).
"""

import numpy as np

from borestudy.acoustics import operator as operators
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort, driven_at_rim, two_port_matrix
from borestudy.acoustics.walls import Real


def power_balance(
    two_port: TwoPort, termination: Termination, frequencies: Real, level: int = -1
) -> Real:
    """(in − lost at the wall − out) / in at every frequency; rounding only."""
    omega, air = 2 * np.pi * frequencies, two_port.air
    operator = two_port.models[level].operator
    _, _, inflow = driven_at_rim(two_port, termination, frequencies, level)
    flow = np.column_stack([np.ones_like(inflow), inflow])
    scale = 1j * omega * air.density
    drive = scale[:, None] * flow / operators.effective_areas(operator, omega, air)
    field = (operators.pressures(operator, omega, air) @ drive[:, :, None])[:, :, 0]
    load = operators.loads(operator, omega, air)
    weighted = np.einsum("fn,fnj->fj", field.conj(), load) * drive
    through = 0.5 * np.real(weighted / scale[:, None])
    factor = operators.factors(operator, omega, air)
    wall = np.zeros(len(omega), dtype=complex)
    for index, term in enumerate(operator.matrices[2:], start=2):
        wall += factor[:, index] * np.einsum("fn,nf->f", field.conj(), term @ field.T)
    lost = 0.5 * np.real(wall / scale)
    left = through.sum(axis=1) - lost
    inlet = np.abs(through[:, 0])
    # a lossless closed bore takes no power at all: nothing to compare with
    return np.asarray(left / np.where(inlet > 0, inlet, 1.0))


def reciprocity(two_port: TwoPort, frequencies: Real, level: int = -1) -> Real:
    """|Z12 − Z21| / |Z12| at every frequency."""
    matrix = two_port_matrix(two_port, frequencies, level)
    return np.abs(matrix[:, 0, 1] - matrix[:, 1, 0]) / np.abs(matrix[:, 0, 1])
