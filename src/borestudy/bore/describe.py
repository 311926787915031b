"""A bore in numbers, for the results."""

from typing import Any

from borestudy.bore.bore import Bore


def describe(bore: Bore) -> dict[str, Any]:
    """Lengths, diameters and volumes of a bore, exact to rounding.

    Parameters
    ----------
    bore : Bore
        Of any origin.

    Returns
    -------
    dict
        ``cup_volume_cm3`` counts all that lies before the throat, so the entry as well;
        ``parts`` has the start and the end of each part [mm].
    """
    volumes = {part: 1e6 * bore.volume(part) for part in bore.parts}
    throat = 1e3 * bore.throat_radius
    return {
        "length_mm": 1e3 * bore.length,
        "rim_diameter_mm": 2e3 * bore.rim_radius,
        "throat_diameter_mm": 2 * throat,
        "throat_length_mm": 1e3 * (bore.throat_end - bore.throat_start),
        "end_diameter_mm": 2e3 * bore.shank_radius,
        "cup_volume_cm3": volumes.get("cup", 0.0) + volumes.get("entry", 0.0),
        "throat_volume_cm3": volumes.get("throat", 0.0),
        "backbore_volume_cm3": volumes.get("backbore", 0.0),
        "entry": bore.entry.shape if bore.entry else None,
        "parts": {
            part: [1e3 * start, 1e3 * stop] for part, (start, stop) in bore.part_ranges.items()
        },
    }
