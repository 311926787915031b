"""What a study's tolerances, wish and claims mean, in lines, before anything is computed."""

from borestudy.bore import tolerances_of
from borestudy.bore.errors import millimetres
from borestudy.optimisation.way import MOST_SOLVES
from borestudy.rounding import significant
from borestudy.study import Case, Study, read_claims
from borestudy.study.models import MeasuredBore
from borestudy.study.wish import Free, Wanted

#: A tolerance of more dimensions than these is not told one by one.
TOLD = 6
UNITS = {"cents": "cents", "percent": "%"}


def tolerance_lines(study: Study, case: Case) -> list[str]:
    """The tolerances of the first case's dimensions, and those that the study states singly."""
    stated = study.stated_tolerances()
    others = [f"{key.removeprefix('bore.')} {text}" for key, text in study.tolerances.items()]
    every = "every length and diameter"
    if isinstance(case.bore, MeasuredBore):  # whose many dimensions take long to make
        every = "the length, the diameter at each station, and all diameters together"
    else:
        numbers = [one for one in case.dimensions() if not one.unit and one.key not in stated]
        others += [
            f"{one.label} {significant(one.limit, 2)} (moves the wall as far)"
            for one in tolerances_of(numbers, study.tolerance.value)
        ]
    more = [f"{len(others) - TOLD} more of their own"] if len(others) > TOLD else []
    line = f"tolerances of case {case.name}, either way: {study.tolerance} on {every}"
    return ["; ".join([line, *others[:TOLD], *more])]


def claims_lines(study: Study) -> list[str]:
    """How many claims the study has, each of which was understood; none without claims."""
    found = read_claims(study)
    return [f"claims: {len(found)} in {study.claims}"] if found else []


def lips_lines(study: Study) -> list[str]:
    """The lips that are to start a tone, and what the tone is of; none without lips."""
    lips = study.lips
    if lips is None:
        return []
    properties = {
        "mass_per_area": f"mass per area {lips.mass_per_area}",
        "quality_factor": f"Q {lips.quality_factor:g}",
        "width": f"width {lips.width}",
        "opening": f"opening at rest {lips.opening}",
    }
    sources = lips.sources.model_dump()
    lines = [
        f"lips: {', '.join(f'{words} ({sources[key]})' for key, words in properties.items())}; "
        f"compared with {lips.set_} others; tone in register {lips.register} at {lips.soft:g} and "
        f"{lips.loud:g} times the threshold, whose harmonics meet the bore as it is computed up to "
        f"{study.resonance.to} (resonance.to)"
    ]
    if study.air_column_file() is None:
        behind = "on its own pipe" if study.termination() == "anechoic pipe" else "on its own"
        lines.append(
            f"caution: no air column behind the shank ({study.termination()}): the lips start a "
            f"tone of the mouthpiece {behind}, and not of an instrument"
        )
    return lines


def wish_lines(study: Study, case: Case) -> list[str]:
    """What shall become of the first case's bore, and which dimensions may move how far."""
    asked = study.asked()
    if asked is None:
        return []
    bore = "exists: its wall may only move outward" if asked.existing else "is still to be made"
    labels = {one.key: (one.label, one.unit, one.value) for one in case.dimensions()}
    return [
        f"wish for the bore of case {case.name}, which {bore}:",
        *(f"  {_wanted(one)}" for one in asked.wanted),
        "free to move:",
        *(f"  {_free(one, *labels[one.key])}" for one in asked.free),
        f"at most {MOST_SOLVES} solves for it, the first of them of this bore",
    ]


def _wanted(one: Wanted) -> str:
    unit = UNITS[one.quantity.scale]
    near = f"{one.within:g} {'cent' if unit == 'cents' and one.within == 1 else unit}"
    if one.kind == "keep":
        return f"{one.quantity.name}: kept within {near}"
    if one.kind == "reach":
        return f"{one.quantity.name}: {one.written.partition(' within ')[0]}, within {near}"
    return f"{one.quantity.name}: {one.target:+g} {unit}, within {near}"


def _free(one: Free, label: str, unit: str, now: float) -> str:
    def said(value: float) -> str:
        return millimetres(value) if unit == "mm" else significant(value)

    sizes = ", any size"
    if one.sizes:
        first, last = one.sizes[0][0], one.sizes[-1][0]
        sizes = f", {len(one.sizes)} sizes: {first} to {last}" if first != last else f", {first}"
    return f"{label}: {said(one.low)} to {said(one.high)} (now {said(now)}){sizes}"
