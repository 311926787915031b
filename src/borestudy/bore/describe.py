"""A bore in numbers, for the results."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from borestudy.bore.bore import Bore


@dataclass(frozen=True, kw_only=True)
class BoreDescription:
    """Lengths, diameters and volumes of a bore, exact to rounding.

    Attributes
    ----------
    length_mm, rim_diameter_mm, throat_diameter_mm, throat_length_mm, end_diameter_mm : float
    cup_volume_cm3 : float
        Volume of all that lies before the throat, so of the entry as well.
    throat_volume_cm3, backbore_volume_cm3 : float
    entry : str or None
        Shape of the throat entry.
    parts : mapping of str to tuple of float
        Start and end of each part [mm from the rim plane].
    doubtful_stations : tuple of str
        What is to be said of the stations that the bore was made from.
    """

    length_mm: float
    rim_diameter_mm: float
    throat_diameter_mm: float
    throat_length_mm: float
    end_diameter_mm: float
    cup_volume_cm3: float
    throat_volume_cm3: float
    backbore_volume_cm3: float
    entry: str | None = None
    parts: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    doubtful_stations: tuple[str, ...] = ()


def describe(bore: Bore) -> BoreDescription:
    """Lengths, diameters and volumes of a bore of any origin."""
    volumes = {part: 1e6 * bore.volume(part) for part in bore.parts}
    return BoreDescription(
        length_mm=1e3 * bore.length,
        rim_diameter_mm=2e3 * bore.rim_radius,
        throat_diameter_mm=2e3 * bore.throat_radius,
        throat_length_mm=1e3 * (bore.throat_end - bore.throat_start),
        end_diameter_mm=2e3 * bore.shank_radius,
        cup_volume_cm3=volumes.get("cup", 0.0) + volumes.get("entry", 0.0),
        throat_volume_cm3=volumes.get("throat", 0.0),
        backbore_volume_cm3=volumes.get("backbore", 0.0),
        entry=bore.entry.shape if bore.entry else None,
        parts={part: (1e3 * start, 1e3 * stop) for part, (start, stop) in bore.part_ranges.items()},
    )
