"""Hold a study's wish against its bore, its flow rates and its resonances."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from borestudy import units
from borestudy.bore import BoreError, bore_from_dimensions
from borestudy.bore.errors import millimetres
from borestudy.drills import DRILL_SIZES, drill_diameter
from borestudy.study.building import sizes_of
from borestudy.study.dimensions import NAMED, values_of_sizes, with_dimension
from borestudy.study.errors import StudyError, suggest
from borestudy.study.models import AirColumn, BoreDimensions, Flow, MeasuredBore, Resonance
from borestudy.study.quantity_names import NameProblem, named
from borestudy.study.wish import (
    Asked,
    Free,
    FreeDimension,
    Wanted,
    Wish,
    example_of_wish,
    parse_wanted,
)

#: Default limits: this share below and above a length, this much below and above a pure number.
ROOM, ROOM_OF_NUMBER = Fraction(1, 10), 0.2
#: What a pure number may be.
NUMBERS = {"cup.shape": (0.0, 1.0), "backbore.taper": (-1.0, 1.0)}
#: Longest dimension of any bore [m].
LONGEST = 2.0
#: More dimensions than these are refused, and more steps of one.
MOST_FREE, MOST_SIZES = 8, 2000
#: Dimensions that only grow in metal, and the one that only shrinks.
ONLY_GROW, ONLY_SHRINK = ("cup.diameter", "throat.diameter", "backbore.end_diameter"), ("length",)


def checked_wish(
    wish: Wish, bore: BoreDimensions | MeasuredBore, resonance: Resonance, flow: Flow
) -> Asked:
    """A wish with the values that its texts stand for; limits that it leaves out are written in.

    Raises
    ------
    StudyError
        One line a mistake: which key, what was found, what is allowed, an example.
    """
    if isinstance(bore, MeasuredBore):
        raise StudyError(
            "wish: found a bore from measured stations; allowed is a wish of a bore from "
            "dimensions, since no single station can be cut, for example bore: "
            "{length: 88 mm, cup: {…}, throat: {…}, backbore: {…}}"
        )
    mistakes: list[str] = []
    wanted = list(_wanted(wish, resonance, flow, mistakes))
    if not wish.change and not wish.reach:
        mistakes.append(
            "wish.change: found nothing that shall change or be reached; allowed is at least one "
            "quantity under wish.change or wish.reach, for example {resonance: '+15 cents'}"
        )
    sizes = sizes_of(bore)
    free = list(_free(wish, sizes, mistakes))
    if mistakes:
        raise StudyError("\n".join(mistakes))
    _refuse_corners(sizes, free)
    return Asked(tuple(wanted), tuple(free), wish.bore == "existing")


def _wanted(wish: Wish, resonance: Resonance, flow: Flow, mistakes: list[str]) -> Iterator[Wanted]:
    """What is wanted of each quantity; a line for each that is none, or is wanted twice."""
    seen: dict[str, str] = {}
    instrument = isinstance(resonance.behind, AirColumn)
    for kind in ("change", "reach", "keep"):
        for written, text in getattr(wish, kind).items():
            key = f"wish.{kind}.{written}"
            try:
                quantity = named(written, flow.rates, instrument)
                found = parse_wanted(quantity, kind, text)
            except NameProblem as problem:
                nearest = named(problem.nearest, flow.rates, instrument)
                example = f"{nearest.name}: {example_of_wish(nearest, kind)}"
                mistakes.append(f"{key}: {problem}, for example {example}")
                continue
            except units.UnitError as problem:
                mistakes.append(f"{key}: {problem}")
                continue
            if quantity.name in seen:
                mistakes.append(
                    f"{key}: found again after {seen[quantity.name]}; allowed is each quantity "
                    f"once, under change, reach or keep, for example {text}"
                )
                continue
            low, high = resonance.from_.value, resonance.to.value
            if quantity.scale == "cents" and kind == "reach" and not low < found.target < high:
                mistakes.append(
                    f"{key}: found {text!r}; allowed is a frequency between resonance.from "
                    f"({resonance.from_}) and resonance.to ({resonance.to}), for example "
                    f"{math.sqrt(low * high):.3g} Hz"
                )
                continue
            seen[quantity.name] = key
            yield found


def _free(wish: Wish, sizes: Mapping[str, Any], mistakes: list[str]) -> Iterator[Free]:
    known = values_of_sizes(sizes)
    if len(wish.free) > MOST_FREE:
        mistakes.append(
            f"wish.free: found {len(wish.free)} dimensions; allowed are up to {MOST_FREE}, "
            "for example {throat.diameter: {}}"
        )
        return
    for written, limits in wish.free.items():
        key, where = written.removeprefix("bore."), f"wish.free.{written}"
        if key not in known:
            reason = "not a dimension of this bore"
            if key.startswith("throat.entry") and sizes["entry"].shape == "square":
                reason = "a square entry has no size"
            allowed = dict.fromkeys(known, "{}")
            mistakes.append(f"{where}: {reason}; {suggest(key, allowed)}")
            continue
        _, unit, value = known[key]
        try:
            yield _between(where, key, unit, value, limits, wish.bore == "existing")
        except units.UnitError as problem:
            mistakes.append(str(problem))


def _between(
    where: str, key: str, unit: str, value: float, limits: FreeDimension, existing: bool
) -> Free:
    """A free dimension; its limits are written into the section where it leaves them out."""
    if unit == "mm":
        defaults = [f"{1e3 * value * float(1 + side * ROOM):.5g} mm" for side in (-1, 1)]
    else:
        least, most = NUMBERS[key]
        near = (max(value - ROOM_OF_NUMBER, least), min(value + ROOM_OF_NUMBER, most))
        defaults = [f"{end:.3g}" for end in near]
    limits.__dict__["from_"] = limits.from_ or defaults[0]
    limits.__dict__["to"] = limits.to or defaults[1]
    ends = []
    for name, text, default in zip(
        ("from", "to"), (limits.from_, limits.to), defaults, strict=True
    ):
        try:
            ends.append(_end(key, unit, str(text)))
        except units.UnitError as problem:
            raise units.UnitError(f"{where}.{name}: {problem.reason}", default) from None
    low, high = ends
    if not low < high:
        reason = f"{where}.to: found {str(limits.to)!r} with from: {limits.from_}; allowed is more"
        example = millimetres(1.2 * low) if unit == "mm" else f"{NUMBERS[key][1]:g}"
        raise units.UnitError(f"{reason} than from", example)
    if existing and key in ONLY_GROW and high < value:
        raise units.UnitError(
            f"{where}.to: found {str(limits.to)!r} of a bore that exists with "
            f"{millimetres(value)}; allowed is at least that, since no metal can be added",
            millimetres(1.05 * value),
        )
    if existing and key in ONLY_SHRINK and low > value:
        raise units.UnitError(
            f"{where}.from: found {str(limits.from_)!r} of a bore that exists with "
            f"{millimetres(value)}; allowed is at most that, since no metal can be added",
            millimetres(0.95 * value),
        )
    return Free(key, low, high, tuple(_sizes(where, unit, limits, low, high)))


def _end(key: str, unit: str, text: str) -> float:
    if unit == "mm":
        value = units.parse_length(text)
        if not 0 < value <= LONGEST:
            allowed = f"a length above zero, up to {LONGEST:g} m"
            raise units.UnitError(f"found {units.quoted(text)}; allowed is {allowed}", "10 mm")
        return value
    least, most = NUMBERS[key]
    words = f"found {units.quoted(text)}; allowed is a number from {least:g} to {most:g}"
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        raise units.UnitError(words, "0.5")
    return value


def _sizes(
    where: str, unit: str, limits: FreeDimension, low: float, high: float
) -> Sequence[tuple[str, float]]:
    """The tool sizes within the limits, least first; none where any size will do."""
    text, slack = limits.sizes, 1e-9
    if text == "any":
        return ()
    if text == "drill" and unit == "mm":
        drills = {f"drill {name}": drill_diameter(name) for name in DRILL_SIZES}
        within = [one for one in drills.items() if low - slack <= one[1] <= high + slack]
        found = sorted(within, key=lambda one: one[1])
    else:
        try:
            step = units.parse_length(text) if unit == "mm" else float(text)
        except ValueError:
            step = 0.0
        if not step > 0:
            raise units.UnitError(
                f"{where}.sizes: found {text!r}; allowed is any, drill, or a step", "0.1 mm"
            )
        if (high - low) / step > MOST_SIZES:
            raise units.UnitError(
                f"{where}.sizes: found {text!r}, and so more than {MOST_SIZES} sizes between the "
                "limits; allowed is a coarser step",
                "0.1 mm" if unit == "mm" else "0.1",
            )
        first, last = math.ceil((low - slack) / step), math.floor((high + slack) / step)
        found = [(_size(unit, n * step), n * step) for n in range(first, last + 1)]
    if not found:
        raise units.UnitError(
            f"{where}.sizes: found {text!r}, and no such size from {limits.from_} to {limits.to}; "
            "allowed are limits with a size between them",
            "any",
        )
    return found


def _size(unit: str, value: float) -> str:
    return millimetres(value) if unit == "mm" else f"{value:.6g}"


def _refuse_corners(sizes: Mapping[str, Any], free: Sequence[Free]) -> None:
    """Refuse limits of which one combination makes no bore, unless the bore itself is none."""
    try:
        bore_from_dimensions(**sizes)
    except BoreError:
        return
    words = {key: unit for key, (_, _, unit) in NAMED.items()}
    for corner in itertools.product(*((one.low, one.high) for one in free)):
        changed = dict(sizes)
        for one, value in zip(free, corner, strict=True):
            changed = with_dimension(changed, one.key, value)
        try:
            bore_from_dimensions(**changed)
        except BoreError as problem:
            told = ", ".join(
                f"{one.key} {_size(words.get(one.key, 'mm'), value)}"
                for one, value in zip(free, corner, strict=True)
            )
            raise StudyError(
                f"wish.free: found limits that make no bore with {told} ({problem.key}: "
                f"{problem}); allowed are limits of which every combination makes a bore, for "
                f"example {{{free[0].key}: {{}}}}"
            ) from None
