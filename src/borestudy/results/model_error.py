"""How far the truth may lie from the best estimate of the flow: preliminary, by plain shares.

The shares are not yet from a comparison with measurements.  Where the computed flow stays laminar
to the shank end the error is `LAMINAR_SHARE` of each pressure drop, else `TURBULENT_SHARE`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from borestudy.bore import Passage
from borestudy.flow.result import FlowAtRate

#: The pressure drops that have a model error: whole, and its two halves.
DROPS = ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop")
LAMINAR_SHARE, TURBULENT_SHARE = 0.03, 0.2
#: Percentage points, of a change between two bores.
LAMINAR_CHANGE, TURBULENT_CHANGE = 1.0, 5.0


@dataclass(frozen=True)
class Sides:
    """How far below and above the estimate the truth may lie, both at least 0, at about 95 %."""

    low: float
    high: float


@dataclass(frozen=True)
class ModelError:
    """Model error of the pressure drops at one rate.

    Attributes
    ----------
    drops : mapping of str to Sides [Pa]
        For each of `DROPS`.
    sources : mapping of str to Sides [Pa]
        What the error of the whole pressure drop is from.
    words : tuple of str
        Where the bore or the rate lies outside the measurements.
    """

    drops: Mapping[str, Sides] = field(default_factory=dict)
    sources: Mapping[str, Sides] = field(default_factory=dict)
    words: tuple[str, ...] = ()


def model_error(passage: Passage, rate: FlowAtRate) -> ModelError:
    """Model error of the best estimate of a bore's flow at one converged rate."""
    share = LAMINAR_SHARE if rate.transition_position_mm is None else TURBULENT_SHARE
    drops = {}
    for name in DROPS:
        if (found := getattr(rate, name)) is not None:
            size = share * abs(found.value)
            drops[name] = Sides(size, size)
    whole = drops.get(DROPS[0])
    return ModelError(drops, {} if whole is None else {"share of the pressure drop": whole})


def change_error(
    ours: tuple[Passage, FlowAtRate],
    theirs: tuple[Passage, FlowAtRate],
    drop: str = "pressure_drop",
) -> float:
    """Model error of the change of a pressure drop between two bores [percentage points]."""
    rates = (ours[1], theirs[1])
    laminar = all(rate.transition_position_mm is None for rate in rates)
    return LAMINAR_CHANGE if laminar else TURBULENT_CHANGE
