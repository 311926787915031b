"""What the weak form's integrand does when a point of the mesh is elsewhere."""

from dataclasses import dataclass

from borestudy.fem import Floats


@dataclass(frozen=True)
class ByPlace:
    """Derivative of an integrand against tests by what its place decides, values and slopes held.

    Attributes
    ----------
    radius : ndarray, shape (E, Q)
    metric : ndarray, shape (3, E, Q), or None
        By the entries xx, xr, rr of the element's metric, the mixed one counted once.
    distance, axial : ndarray, shape (E, Q), or None
        By the distance to the nearest wall, and from the rim plane.
    ramp : ndarray, shape (4, E, Q), or None
        By the four numbers that say where and how the flow turns turbulent.
    """

    radius: Floats
    metric: Floats | None = None
    distance: Floats | None = None
    axial: Floats | None = None
    ramp: Floats | None = None
