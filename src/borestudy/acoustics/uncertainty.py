"""What bounds the error of an acoustic figure, besides the step between its meshes."""

import numpy as np
from numpy.typing import ArrayLike

from borestudy.acoustics.termination import Termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.acoustics.walls import truncation_share
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.quantity import Quantity

#: The figures of a resonance by their keys, with their units.
QUANTITIES = {"frequency_Hz": "Hz", "Q": "", "impedance_peak_Pa_s_per_m3": "Pa_s_per_m3"}
#: What the wall condition leaves out, as a share of each figure: the greatest deviation seen in
#: pipes and cones with exact tube functions (1.83 to 4.6 mm, 100 Hz to 5 kHz), which no finer mesh
#: takes away.
WALL_SHARE = {"frequency_Hz": 1e-5, "Q": 6e-4, "impedance_peak_Pa_s_per_m3": 6e-4}
WALL_SHARE_OF_CURVE = 2e-4
#: What cutting an air column into slices leaves, as a share of each figure: twice the greatest
#: change that slices ten times finer made to the peaks of the demo's air column.
SLICES_SHARE = {"frequency_Hz": 8e-7, "Q": 5e-5, "impedance_peak_Pa_s_per_m3": 5e-5}


def levels_quantity(levels: ArrayLike, unit: str, share: float) -> Quantity | None:
    """A figure from its value on each mesh, coarsest first; NaN where a mesh has none.

    To its mesh uncertainty a share of it is added that no finer mesh takes away.  None where the
    finest mesh has no value; without an uncertainty where another has none, or with one mesh.
    """
    values = np.asarray(levels, dtype=float)
    finest, known = float(values[-1]), np.isfinite(values)
    if not known[-1]:
        return None
    uncertainty = None
    if known.all() and len(values) > 1:
        uncertainty = float(grid_uncertainty(values) + share * abs(finest))
    kept = tuple(float(value) if np.isfinite(value) else None for value in values)
    return Quantity(finest, uncertainty, unit, kept)


def truncation_shares(
    two_port: TwoPort, termination: Termination, frequency: float
) -> dict[str, float]:
    """What ending series and slicing leaves out at a frequency [Hz], as a share of each figure."""
    operator, air = two_port.finest.operator, two_port.air
    omega = 2 * np.pi * frequency
    loss = truncation_share(operator.walls, operator.largest_curvature, omega, air)
    # the layer is a small part of the section, and so is its share in a frequency
    layer = min(1.0, operator.largest_curvature * np.sqrt(air.kinematic_viscosity / omega))
    shares = {"frequency_Hz": loss * layer, "Q": loss, "impedance_peak_Pa_s_per_m3": loss}
    sliced = termination.kind.startswith("air column")
    return {name: shares[name] + (SLICES_SHARE[name] if sliced else 0.0) for name in QUANTITIES}
