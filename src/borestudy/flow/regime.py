"""Scales of a flow rate, which regime it is in, and which rates can be solved at all.

All limits on the throat's Reynolds number and Mach number are here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from borestudy.air import Air

Regime = Literal["laminar", "transitional", "turbulent"]
#: From about the first on the jet behind a throat breaks up within 20 throat diameters of a slow
#: cone (direct simulation: not at 1116, at 10 to 15 diameters at 1500); from the second on the flow
#: was seen to be turbulent in the throat of the open nozzle benchmark (``snakemake validation``).
LAMINAR_BELOW, TURBULENT_ABOVE = 1250.0, 3500.0
#: Pipe flow stays laminar below about this number whatever comes in (Reynolds 1883; common
#: practice), and the open nozzle benchmark's agrees with the laminar solution up to its throat's
#: end.
LAMINAR_PIPE_BELOW = 2000.0
#: Below this throat Reynolds number the turbulence model is refused: at 2000 it has 1.7 times the
#: friction of a laminar pipe (computed, this project); pipes may be turbulent from 2300 on (common
#: practice).
LOWEST_TURBULENT = 2500.0
#: Throat Reynolds number up to which a solution that lacks the tolerance is refined: beyond, it is
#: one end of a wide span, and the finer mesh costs most and gains least.
REFINED_TO = 7000.0
#: Mach number of the throat from which the flow is no longer quite incompressible, and the most
#: that is solved.
MACH_WARNING, MACH_LIMIT = 0.2, 0.3
EXAMPLE = "for example [0.05, 0.1, 0.2] L/s"


@dataclass(frozen=True)
class Scale:
    """One flow rate in SI, and what scaled results are multiplied with."""

    flow_rate: float
    velocity: float
    reynolds: float
    mach: float
    pressure: float
    length: float

    def factor(self, unit: str) -> float:
        """A figure in a unit of a flow rate's record over its scaled value."""
        return unit_factor(unit, 0.5 * self.pressure, 1e3 * self.flow_rate)


def unit_factor(unit: str, dynamic: float, rate: float) -> float:
    """What a scaled figure of a rate [L/s] is multiplied with: q [Pa], q over the rate, or 1."""
    return {"Pa": dynamic, "kPa_s_per_L": 1e-3 * dynamic / rate}.get(unit, 1.0)


def rate_scale(air: Air, rate: float, diameter: float) -> Scale:
    """Scales of a flow rate [m³/s] through a throat of a diameter [m]."""
    velocity = rate / (np.pi / 4 * diameter**2)
    return Scale(
        flow_rate=rate,
        velocity=velocity,
        reynolds=velocity * diameter / air.kinematic_viscosity,
        mach=velocity / air.sound_speed,
        pressure=air.density * velocity**2,
        length=diameter,
    )


def regime(reynolds: float) -> Regime:
    """The regime word at a throat Reynolds number."""
    if reynolds <= LAMINAR_BELOW:
        return "laminar"
    return "transitional" if reynolds <= TURBULENT_ABOVE else "turbulent"


def check_rates(air: Air, rates: Sequence[float], throat_diameter: float) -> list[str]:
    """Refuse flow rates that cannot be solved, and return warnings of doubtful ones.

    Parameters
    ----------
    air : Air
        The air, of which the speed of sound counts.
    rates : sequence of float
        Flow rates [m³/s].
    throat_diameter : float
        Throat diameter [m].

    Returns
    -------
    list of str
        Warnings.

    Raises
    ------
    ValueError
        Naming the rate, what is wrong with it and what is allowed.
    """
    if not len(rates):
        raise ValueError(f"flow.rates: the list is empty; give rising rates, {EXAMPLE}")
    area = np.pi / 4 * throat_diameter**2
    limit = MACH_LIMIT * air.sound_speed * area
    warnings = []
    for before, rate in zip([0.0, *rates], rates, strict=False):
        if not rate > 0:
            raise ValueError(
                f"flow.rates: found {1e3 * rate:g} L/s; a rate must be above zero, {EXAMPLE}"
            )
        if not rate > before:
            raise ValueError(
                f"flow.rates: {1e3 * rate:g} L/s follows {1e3 * before:g} L/s; "
                f"rates must rise, {EXAMPLE}"
            )
        mach = rate / area / air.sound_speed
        if mach > MACH_LIMIT:
            raise ValueError(
                f"flow.rates: {1e3 * rate:g} L/s is Mach {mach:.2f} in a throat of "
                f"{1e3 * throat_diameter:.2f} mm; the flow is taken as incompressible, so Mach "
                f"{MACH_LIMIT:g}, here {1e3 * limit:.2g} L/s, is the most that is allowed"
            )
        if mach > MACH_WARNING:
            warnings.append(
                f"at {1e3 * rate:g} L/s the throat's Mach number is {mach:.2f}: taken as "
                "incompressible, its pressure drop is in error by a few per cent"
            )
    return warnings
