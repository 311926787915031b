"""What is said of a study before anything is computed: its bores, and what no model can compute."""

import math
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace

from borestudy.acoustics.termination import Termination, build_termination, frequency_cautions
from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.flow.regime import MACH_LIMIT, check_rates
from borestudy.mesh.unmeshed import MeshError, refuse_unmeshable
from borestudy.study import Case, Study, StudyError, read_claims

#: Speed of sound in dry air over the root of its temperature [m/s/√K], and how many times faster
#: it can be in humid air; slower it is nowhere by more than the last factor.
SOUND_SPEED_FACTOR, HUMID, DRY = 20.05, 1.01, 0.99
#: How far the speed of sound of a mixture of ideal gases may be from the humid air's, relatively.
MOIST = 1e-3
#: Throat Reynolds number below which the handbooks' correlations have no value, not even a wrong
#: one (their friction factors end between 2 and 5); the softest playing is at some hundreds.
REYNOLDS_LIMIT = 10.0
#: Sutherland's law for dry air [kg/(m·s·√K)], [K], and its gas constant [J/(kg·K)]: US Standard
#: Atmosphere 1976.
SUTHERLAND, GAS_CONSTANT = (1.458e-6, 110.4), 287.05
#: Thermal conductivity of dry air at 20 degC [W/(m·K)], from memory; no limit here asks for it.
CONDUCTIVITY = 0.0257
#: What is solved for each word of flow.closure.
SOUGHT = {
    "estimate": "best estimate",
    "laminar": "best estimate, and the laminar solution beside it",
    "turbulent": "best estimate, and the turbulent solution beside it",
    "both": "best estimate, and the laminar and the turbulent solution beside it",
}


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


def refuse_impossible(study: Study) -> None:
    """Build every bore of a study, and hold its flow rates to the model's limit.

    Raises
    ------
    StudyError
        One line a case whose bore is impossible or whose throat does not suit the rates, or one a
        claim that is none.
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
    read_claims(study)


def rates_outside(study: Study, case: Case, diameter: float) -> list[str]:
    """Lines for the least rate if too slow, the greatest if too fast in a throat, diameter [m]."""
    air = dry_air(case)  # which is near enough
    least = REYNOLDS_LIMIT * math.pi / 4 * diameter * air.kinematic_viscosity
    most = MACH_LIMIT * HUMID * air.sound_speed * math.pi / 4 * diameter**2
    example = "0.05, 0.1, 0.2, 0.3 L/s"
    if not (least <= 0.05e-3 and most >= 0.3e-3):
        example = f"{1e3 * most / 8:.2g}, {1e3 * most / 4:.2g} L/s"
    slowest, fastest = study.flow.rates[0], study.flow.rates[-1]
    return [
        f"case {case.name}: flow.rates: found {rate} in a throat of {1e3 * diameter:.3g} mm; "
        f"allowed is {allowed}, here about {1e3 * limit:.2g} L/s, for example {example}"
        for rate, outside, allowed, limit in (
            (slowest, slowest.value < least,
             f"from a Reynolds number of {REYNOLDS_LIMIT:g} on", least),
            (fastest, fastest.value > most, f"up to Mach {MACH_LIMIT:g}", most),
        )
        if outside
    ]  # fmt: skip


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


def moist_sound_speed(temperature: float, humidity: float, pressure: float) -> float:
    """Speed of sound [m/s] in a mixture of ideal gases: dry air with the steam it holds.

    Parameters
    ----------
    temperature, humidity, pressure : float
        [K], relative from 0 to 1, [Pa].

    Notes
    -----
    Saturation pressure by Buck's equation of 1996; heat capacities 7/2 R of dry air and 4.04 R of
    steam: all from memory, held against the humid air's library by a test.
    """
    celsius = temperature - 273.15
    saturated = 611.21 * math.exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))
    steam = humidity * saturated / pressure
    heat = 3.5 * (1 - steam) + 4.04 * steam  # at constant pressure, over R
    molar_mass = 28.966e-3 * (1 - steam) + 18.015e-3 * steam
    return math.sqrt(heat / (heat - 1) * 8.31446 * temperature / molar_mass)


def bores_and_cautions(study: Study) -> tuple[dict[str, Bore], dict[str, list[str]]]:
    """Every case's bore by the case's name, and each caution with the names of its cases.

    Raises
    ------
    StudyError
        If a bore cannot be built, or asks for what no model here can compute.
    """
    bores: dict[str, Bore] = {}
    cautions: dict[str, list[str]] = {}
    for case in study.cases():
        bore = bores[case.name] = buildable_bore(case)
        for caution in [*case.station_doubts(), *_cautions(study, case, bore)]:
            cautions.setdefault(caution, []).append(case.name)
    return bores, cautions


def _cautions(study: Study, case: Case, bore: Bore) -> list[str]:
    """What the models are asked beyond what they are good for; refuses what none can compute."""
    for problem in rates_outside(study, case, 2 * bore.throat_radius):
        raise StudyError(problem)
    column, walls = study.air_column_file(), study.resonance.walls
    with _refusal(case, "resonance.behind: "):
        termination = build_termination(study.termination(), bore.shank_radius, walls, column)
    notes = [termination.note] if termination.note else []
    # Every limit rises with the speed of sound: what is within those of an air in which it is
    # surely slower needs no other, which would take longer to load than all the rest.
    dry = dry_air(case)
    slow = replace(dry, sound_speed=DRY * dry.sound_speed)
    with suppress(ValueError):  # refused, if at all, by what the air is
        if not _beyond(study, slow, bore, termination):
            return notes
        # Nor for a Mach number of two digits, where nothing near the limit is asked, nor for other
        # cautions that are told in the same words whatever it might be.
        speed = moist_sound_speed(*case.air.values())
        low, middle, high = (
            _beyond(study, replace(dry, sound_speed=factor * speed), bore, termination)
            for factor in (1 - MOIST, 1.0, 1 + MOIST)
        )
        if len(low) == len(high) and all(
            "Mach" in said or one == other
            for one, said, other in zip(low, middle, high, strict=True)
        ):
            return middle + notes
    with _refusal(case):
        return _beyond(study, case.build_air(), bore, termination) + notes


def _beyond(study: Study, air: Air, bore: Bore, termination: Termination) -> list[str]:
    """What lies beyond the models' limits in an air."""
    cautions = check_rates(air, list(study.flow_rates()), 2 * bore.throat_radius)
    highest = study.resonance.to.value
    widest = max(max(segment.start[1], segment.stop[1]) for segment in bore.segments)
    return cautions + frequency_cautions(highest, widest, termination, air)


@contextmanager
def _refusal(case: Case, where: str = "") -> Iterator[None]:
    """Put the case's name, and the key where a physics leaves it out, before a refusal."""
    try:
        yield
    except ValueError as problem:
        raise StudyError(f"case {case.name}: {where}{problem}") from None
