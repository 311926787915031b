"""A bore's dimensions as results know them: in people's units, with the derivatives of volumes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from borestudy.bore import IN_SI, Bore, BoreDescription, Dimension, describe

#: How far a dimension is changed either way for the derivative of a volume [SI].
STEP = 1e-6
#: Fields of `BoreDescription` with a volume [cm³].
VOLUMES = ("cup_volume_cm3", "throat_volume_cm3", "backbore_volume_cm3")


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
    """What results know of a bore's dimensions.

    Raises
    ------
    ValueError
        If a dimension can be changed neither way.
    """
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
    """Derivative of each volume [cm³ per unit] by a central difference, one-sided at a limit."""
    sides: list[tuple[float, BoreDescription]] = []
    for amount in (-STEP, STEP):
        try:
            sides.append((amount, describe(dimension.changed(bore, amount))))
        except ValueError:
            sides.append((0.0, describe(bore)))
    (low, smaller), (high, larger) = sides
    if low == high:
        raise ValueError(f"{dimension.key}: no bore near {dimension.value} has the same segments")
    per_unit = IN_SI[dimension.unit] / (high - low)
    return {name: per_unit * (getattr(larger, name) - getattr(smaller, name)) for name in VOLUMES}
