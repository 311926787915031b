"""One cause of a wrong value, tried: what the value would be by it."""

from dataclasses import dataclass

#: The causes by their words.
LOSSLESS = "a formula without losses"
NO_END_CORRECTION = "the end correction left out"
LUMPED = "a lumped approximation"
PLAIN_TUBE = "the bore taken for a plain tube"
HANDBOOK = "a handbook’s turbulent loss where the flow is laminar"
DEVELOPED = "the formula of developed flow in a throat too short for it"
DIAMETER_FOR_RADIUS = "the diameter taken for the radius"
RADIUS_FOR_DIAMETER = "the radius taken for the diameter"
WRONG_UNIT = "a wrong unit"
TEMPERATURE = "air of another temperature"
CAUSES = (
    LOSSLESS, NO_END_CORRECTION, LUMPED, PLAIN_TUBE, HANDBOOK, DEVELOPED, DIAMETER_FOR_RADIUS,
    RADIUS_FOR_DIAMETER, WRONG_UNIT, TEMPERATURE,
)  # fmt: skip


@dataclass(frozen=True)
class Trial:
    """What a quantity would be by one cause, in the unit of results.

    ``how`` says by which formula or factor; ``error`` is the numerical uncertainty of the value.
    """

    cause: str
    how: str
    value: float
    error: float = 0.0
