r"""Formulas that are worked out by hand: volumes, the resonator, the quarter wave, two pressures.

A cup of radius :math:`R` at the rim, :math:`r` at the throat and depth :math:`L` holds, as a
straight cone and as a bowl whose wall is a quarter of an ellipse,

.. math::
   V = \tfrac{\pi}{3} L (R^2 + R r + r^2), \qquad
   V = \pi L \big(r^2 + \tfrac{\pi}{2} r (R - r) + \tfrac23 (R - r)^2\big).

With the speed of sound :math:`c`, a volume :math:`V` behind a neck of area :math:`S` and length
:math:`l` resonates at :math:`f = \tfrac{c}{2\pi}\sqrt{1/(V M)}`, :math:`M = l/S` (Helmholtz 1860;
Kinsler et al., Fundamentals of Acoustics, 4th ed. 2000, 10.8: from memory).  Air swings along
beyond either end of the neck, as if it were longer by :math:`8r/3\pi` at an end in a wide wall
(Rayleigh, The Theory of Sound, 1896, § 307 and appendix A: from memory).  Where a cone follows,
its own :math:`\int dx/S = L/(\pi r_1 r_2)` is added to :math:`M`.
"""

import math

from borestudy.air import Air


def cone_volume(first_radius: float, last_radius: float, length: float) -> float:
    """Volume of a straight cone between two radii [m³], dimensions in m; of equal ones a tube's."""
    squares = first_radius**2 + first_radius * last_radius + last_radius**2
    return math.pi / 3 * length * squares


def bowl_volume(rim_radius: float, throat_radius: float, depth: float) -> float:
    """Volume of a bowl whose wall is a quarter of an ellipse [m³], dimensions in m.

    The wall leaves the rim along the axis and meets the throat's edge across it.
    """
    rise = rim_radius - throat_radius
    squares = throat_radius**2 + math.pi / 2 * throat_radius * rise + 2 / 3 * rise**2
    return math.pi * depth * squares


def end_length(radius: float) -> float:
    """Length [m] by which one end of a neck in a wide wall is longer to sound, 8 r / 3π."""
    return 8 * radius / (3 * math.pi)


def neck_inertance(radius: float, length: float, ends: int = 0) -> float:
    """Length over area [1/m] of a neck, dimensions in m, with the end correction of some ends."""
    return (length + ends * end_length(radius)) / (math.pi * radius**2)


def cone_inertance(first_radius: float, last_radius: float, length: float) -> float:
    """Length over area [1/m] of a straight cone, ∫ dx/S, dimensions in m."""
    return length / (math.pi * first_radius * last_radius)


def resonator_frequency(volume: float, inertance: float, sound_speed: float) -> float:
    """Frequency [Hz] of a volume [m³] behind a neck of length over area [1/m]; c in m/s."""
    return sound_speed / (2 * math.pi * math.sqrt(volume * inertance))


def quarter_wave(length: float, sound_speed: float) -> float:
    """Lowest frequency [Hz] of a tube [m] that is closed at one end and open at the other."""
    return sound_speed / (4 * length)


def mean_velocity(radius: float, flow_rate: float) -> float:
    """Mean velocity [m/s] over a section, of a flow rate [m³/s]."""
    return flow_rate / (math.pi * radius**2)


def dynamic_pressure(air: Air, radius: float, flow_rate: float) -> float:
    """Half the density times the square of the mean velocity over a section [Pa]."""
    return 0.5 * air.density * mean_velocity(radius, flow_rate) ** 2
