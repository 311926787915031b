"""The two bores whose acoustics and flow are known in closed form."""

from borestudy.bore.bore import Bore
from borestudy.bore.segment import line


def cylinder(radius: float, length: float, part: str = "throat") -> Bore:
    """A straight pipe, dimensions in m."""
    return Bore([line((0.0, radius), (length, radius), part)])


def cone(first_radius: float, last_radius: float, length: float, part: str = "backbore") -> Bore:
    """A straight cone from the rim plane to the shank end, dimensions in m."""
    return Bore([line((0.0, first_radius), (length, last_radius), part)])
