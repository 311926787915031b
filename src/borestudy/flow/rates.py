"""Flow rates that can be solved at all: rising, above zero, slow enough to be incompressible."""

from collections.abc import Sequence

import numpy as np

from borestudy.air import Air

MACH_WARNING, MACH_LIMIT = 0.2, 0.3
EXAMPLE = "for example [0.05, 0.1, 0.2] L/s"


def check_rates(air: Air, rates: Sequence[float], throat_diameter: float) -> list[str]:
    """Refuse flow rates that cannot be solved, warn of those at the model's edge.

    Parameters
    ----------
    air : Air
        Its speed of sound.
    rates : sequence of float
        [m³/s].
    throat_diameter : float
        [m].

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
