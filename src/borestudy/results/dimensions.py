"""A bore's dimensions as results know them: in people's units, with the derivatives of volumes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from borestudy.bore import IN_SI, Bore, Dimension

#: How far a dimension is changed either way for the derivative of a volume [SI].
STEP = 1e-6
#: Fields of `BoreDescription` with a volume [cm³], by the parts that they are of.
OF_PART = {
    "cup": "cup_volume_cm3",
    "entry": "cup_volume_cm3",
    "throat": "throat_volume_cm3",
    "backbore": "backbore_volume_cm3",
}
VOLUMES = tuple(dict.fromkeys(OF_PART.values()))
CM3 = 1e6


@dataclass(frozen=True, kw_only=True)
class DimensionValue:
    """One dimension of a case's bore.

    Attributes
    ----------
    key, label : str
        The study's key, such as ``throat.diameter``, and the dimension in words.
    unit : str
        ``mm``, ``deg``, or nothing for a pure number.
    value : float
        The dimension's value in that unit; of a station its radius.
    position_mm : float or None
        Where along the axis a station lies.
    volumes : mapping of str to float
        Derivative of each of `VOLUMES` by the dimension, per mm, per degree or per 1.
    """

    key: str
    label: str
    unit: str
    value: float
    position_mm: float | None = None
    volumes: Mapping[str, float] = field(default_factory=dict)


def dimension_values(bore: Bore, dimensions: Sequence[Dimension]) -> list[DimensionValue]:
    """What results know of a bore's dimensions."""
    return [
        DimensionValue(
            key=one.key,
            label=one.label,
            unit=one.unit,
            value=one.value / IN_SI[one.unit],
            position_mm=None if one.position is None else 1e3 * one.position,
            volumes=_volume_slopes(bore, one),
        )
        for one in dimensions
    ]


def _volume_slopes(bore: Bore, dimension: Dimension) -> dict[str, float]:
    """Derivative of each volume [cm³ per unit], by central differences of what moves."""
    found = dict.fromkeys(VOLUMES, 0.0)
    for number, piece in dimension.pieces.items():
        volume = OF_PART.get(bore.segments[number].part)
        if volume is not None:
            larger, smaller = (piece.moved(side * STEP).volume() for side in (1, -1))
            found[volume] += CM3 * IN_SI[dimension.unit] * (larger - smaller) / (2 * STEP)
    return found
