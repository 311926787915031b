"""What is known of a study before anything is computed: its bores can be built, its airs named."""

import math

from borestudy.study import Case, Study, StudyError
from borestudy.study.naming import name_part
from borestudy.units import parse_temperature

#: Name of the air that all cases share.
COMMON_AIR = "all-cases"


#: As the flow refuses it; there with the speed of sound of the case's humid air.
MACH_LIMIT = 0.3
#: Speed of sound in dry air over the root of its temperature [m/s/√K], and how many times faster
#: it can be in humid air.
SOUND_SPEED_FACTOR, HUMID = 20.05, 1.01


def air_name(case: Case) -> str:
    """Name of the case's air, the same for cases whose air is the same."""
    parts = [name_part(key, value) for key, value in case.values.items() if key.startswith("air.")]
    return "__".join(parts) or COMMON_AIR


def refuse_impossible(study: Study) -> None:
    """Build every bore of a study, and hold its flow rates to the model's limit.

    Raises
    ------
    StudyError
        One line a case whose bore is impossible or whose throat is too narrow for the rates.
    """
    problems = []
    for case in study.cases():
        try:
            bore = case.build_bore()
        except StudyError as problem:
            problems.append(str(problem))
        else:
            problems += _too_fast(study, case, 2 * bore.throat_radius)
    if problems:
        raise StudyError("\n".join(problems))


def _too_fast(study: Study, case: Case, diameter: float) -> list[str]:
    """A line if the greatest rate is surely beyond what counts as incompressible."""
    sound = SOUND_SPEED_FACTOR * math.sqrt(parse_temperature(case.air.temperature))
    limit = MACH_LIMIT * HUMID * sound * math.pi / 4 * diameter**2
    greatest = float(study.flow_rates()[-1])
    if greatest <= limit:
        return []
    return [
        f"flow.rates: found {study.flow.rates[-1]} in a throat of {1e3 * diameter:.3g} mm "
        f"(case {case.name}); allowed is up to Mach {MACH_LIMIT:g}, here about "
        f"{1e3 * limit:.2g} L/s, for example 0.05, 0.1, 0.2, 0.3 L/s"
    ]
