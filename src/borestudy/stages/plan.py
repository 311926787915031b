"""What is known of a study before anything is computed: its bores, its airs, its folder."""

import math
from pathlib import Path

from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.flow.regime import MACH_LIMIT
from borestudy.mesh import MeshError, refuse_unmeshable
from borestudy.study import Case, Study, StudyError
from borestudy.study.naming import name_part

#: Name of the air that all cases share.
COMMON_AIR = "all-cases"

#: File in a folder of results that says which study file they are of.
STUDY_FILE = "study-file.txt"

#: Speed of sound in dry air over the root of its temperature [m/s/√K], and how many times faster
#: it can be in humid air; slower it is nowhere by more than the last factor.
SOUND_SPEED_FACTOR, HUMID, DRY = 20.05, 1.01, 0.99
#: Throat Reynolds number below which the handbooks' correlations have no value, not even a wrong
#: one (their friction factors end between 2 and 5); the softest playing is at some hundreds.
REYNOLDS_LIMIT = 10.0
#: Sutherland's law for dry air [kg/(m·s·√K)], [K], and its gas constant [J/(kg·K)]: US Standard
#: Atmosphere 1976.
SUTHERLAND, GAS_CONSTANT = (1.458e-6, 110.4), 287.05
#: Of dry air at 20 degC [W/(m·K)], from memory; no limit here asks for it.
CONDUCTIVITY = 0.0257
#: Rates that suit most throats, for messages.
EXAMPLE_RATES = "0.05, 0.1, 0.2, 0.3 L/s"


def air_name(case: Case) -> str:
    """Name of the case's air, the same for cases whose air is the same."""
    parts = [name_part(key, value) for key, value in case.values.items() if key.startswith("air.")]
    return "__".join(parts) or COMMON_AIR


def dry_air(case: Case) -> Air:
    """The case's air as a dry ideal gas, for limits: the humid air's library loads for a second."""
    temperature, _, pressure = case.air.values()
    return Air(
        density=pressure / (GAS_CONSTANT * temperature),
        sound_speed=SOUND_SPEED_FACTOR * math.sqrt(temperature),
        viscosity=SUTHERLAND[0] * temperature**1.5 / (temperature + SUTHERLAND[1]),
        thermal_conductivity=CONDUCTIVITY,
        specific_heat=3.5 * GAS_CONSTANT,
        heat_capacity_ratio=1.4,
    )


def buildable_bore(case: Case) -> Bore:
    """The bore of a case, if it can be built and meshed.

    Raises
    ------
    StudyError
        If its dimensions make no bore, or one that is drawn finer than any mesh.
    """
    bore = case.build_bore()
    try:
        refuse_unmeshable(bore)
    except MeshError as problem:
        raise StudyError(f"case {case.name}: bore: {problem}") from None
    return bore


def results_folder(study_file: Path) -> Path:
    """Folder of a study's results, named after the study file.

    Raises
    ------
    StudyError
        If the folder holds the results of another study file that is still there.
    """
    folder = Path("results") / study_file.stem
    record = folder / STUDY_FILE
    owner = Path(record.read_text(encoding="utf-8").strip()) if record.is_file() else study_file
    if owner.is_file() and not owner.samefile(study_file):
        raise StudyError(
            f"{folder} holds the results of {owner}; found {study_file}, whose results would "
            f"overwrite them; allowed is another file name, for example {study_file.stem}-2.yaml"
        )
    return folder


def refuse_impossible(study: Study) -> None:
    """Build every bore of a study, and hold its flow rates to the model's limit.

    Raises
    ------
    StudyError
        One line a case whose bore is impossible or whose throat does not suit the rates.
    """
    problems = []
    for case in study.cases():
        try:
            bore = buildable_bore(case)
        except StudyError as problem:
            problems.append(str(problem))
        else:
            problems += rates_outside(study, case, 2 * bore.throat_radius)
    if problems:
        raise StudyError("\n".join(problems))


def rates_outside(study: Study, case: Case, diameter: float) -> list[str]:
    """A line for the least rate if it is too slow in a throat, and for the greatest if too fast.

    Parameters
    ----------
    study : Study
        Its flow rates.
    case : Case
        Its air; dry, which is near enough.
    diameter : float
        Of the throat [m].
    """
    air = dry_air(case)
    least = REYNOLDS_LIMIT * math.pi / 4 * diameter * air.kinematic_viscosity
    most = MACH_LIMIT * HUMID * air.sound_speed * math.pi / 4 * diameter**2
    example = EXAMPLE_RATES
    if not (least <= 0.05e-3 and most >= 0.3e-3):
        example = f"{1e3 * most / 8:.2g}, {1e3 * most / 4:.2g} L/s"
    rates = study.flow_rates()
    key, where = f"case {case.name}: flow.rates", f"in a throat of {1e3 * diameter:.3g} mm"
    problems = []
    if rates[0] < least:
        problems.append(
            f"{key}: found {study.flow.rates[0]} {where}; allowed is from a Reynolds number of "
            f"{REYNOLDS_LIMIT:g} on, here about {1e3 * least:.2g} L/s, for example {example}"
        )
    if rates[-1] > most:
        problems.append(
            f"{key}: found {study.flow.rates[-1]} {where}; allowed is up to Mach "
            f"{MACH_LIMIT:g}, here about {1e3 * most:.2g} L/s, for example {example}"
        )
    return problems
