"""The numbers of the methods section, from the constants that the program computes with."""

from fractions import Fraction
from typing import Any

from borestudy.fem.uncertainty import CAUTIOUS_FACTOR, EDGE_ORDER, LOWEST_ORDER, TRUSTED_FACTOR
from borestudy.flow import uncertainty as flow
from borestudy.flow.models.spalart_allmaras import onset
from borestudy.flow.regime import LAMINAR_BELOW, LOWEST_TURBULENT, TURBULENT_ABOVE
from borestudy.mesh import REFINEMENT_RATIO
from borestudy.playing.lips import RANGES
from borestudy.playing.sound import RATE
from borestudy.results.changes import BELIEVED_CANCELLING
from borestudy.results.onset import HIGHEST_PRESSURE
from borestudy.results.onset_changes import FEWEST_LIPS, NEARLY_ALL
from borestudy.results.stream import QUASI_STEADY_BELOW

#: The rule for the place of transition with its defaults; of which bore does not matter.
RULE = onset.Onset(throat_start=0.0, throat_end=1.0, sharpness=1.0)


def method_numbers() -> dict[str, str]:
    """What the methods section states of meshes and of uncertainties, as it is printed there."""
    per_step = REFINEMENT_RATIO**flow.ORDER - 1
    return {
        "ratio": f"{REFINEMENT_RATIO:g}",
        "lowest_order": f"{LOWEST_ORDER:g}",
        "edge_order": str(Fraction(EDGE_ORDER).limit_denominator(9)),
        "flow_order": f"{flow.ORDER:g}",
        "trusted": f"{TRUSTED_FACTOR:g}",
        "cautious": f"{CAUTIOUS_FACTOR:g}",
        "trusted_steps": f"{TRUSTED_FACTOR / per_step:.2g}",
        "cautious_steps": f"{CAUTIOUS_FACTOR / per_step:.2g}",
        "consistent": f"{flow.CONSISTENT_WITHIN:g}",
        "scatter": f"{100 * flow.SCATTER:g} %",
        "slope_per_drop": f"{flow.SLOPE_PER_DROP:g}",
        "floor": f"{100 * flow.FLOOR_SHARE:g} %",
        "believed_two": f"1/{BELIEVED_CANCELLING[2]:g}",
        "believed_three": f"1/{BELIEVED_CANCELLING[3]:g}",
        "laminar_below": f"{LAMINAR_BELOW:g}",
        "lowest_turbulent": f"{LOWEST_TURBULENT:g}",
        "turbulent_above": f"{TURBULENT_ABOVE:g}",
        "least_reynolds": f"{onset.LEAST_REYNOLDS:g}",
        "plain": f"{onset.PLAIN:g}",
        "steep": f"{onset.STEEP:g}",
        "usual_length": f"{onset.LENGTH - onset.SHORTEST:g}",
        "behind_edge": f"{RULE.behind_edge:g}",
        "edge_from": f"{RULE.edge_reynolds[0]:g}",
        "edge_to": f"{RULE.edge_reynolds[1]:g}",
        "start": f"{RULE.start:g}",
        "quasi_steady": f"{QUASI_STEADY_BELOW:g}",
    }


#: Properties of lips in words, with the unit they are told in and what that is of the SI unit.
PROPERTIES = {
    "mass_per_area": ("mass per area", "kg/m²", 1.0),
    "quality_factor": ("quality factor", "", 1.0),
    "width": ("width", "mm", 1e3),
    "opening_at_rest": ("opening at rest", "mm", 1e3),
}


def lips_numbers() -> dict[str, Any]:
    """What the methods section states of lips, as it is printed there."""
    ranges = []
    for one in RANGES:
        words, unit, factor = PROPERTIES[one.name]
        ends = (f"{factor * end:g}" for end in (one.low, one.high))
        ranges.append((words, *ends, unit, one.source))
    return {
        "ranges": ranges,
        "highest_pressure": f"{HIGHEST_PRESSURE / 1e3:g}",
        "nearly_all": f"{100 * NEARLY_ALL:g} %",
        "fewest_lips": f"{FEWEST_LIPS}",
        "sound_rate": f"{RATE}",
    }
