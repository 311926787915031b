"""Tolerances that a study states for single dimensions, by the keys of `study.dimensions`."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from borestudy.bore import ALL_DIAMETERS, Bore, Dimension, Tolerance, bore_from_dimensions
from borestudy.bore.errors import millimetres
from borestudy.bore.tolerances import in_error
from borestudy.study.building import sizes_of
from borestudy.study.cases import Case
from borestudy.study.dimensions import dimensions_of_sizes, values_of_sizes, with_dimension
from borestudy.study.errors import suggest
from borestudy.study.models import MeasuredBore
from borestudy.units import LENGTH, UnitError, parse, quoted

#: Largest tolerance of a length [m] and of a pure number; what an error of zero means.
LARGEST_LENGTH, LARGEST_NUMBER = 1e-3, 0.5
EXACT = "0 where it is exact"
LENGTH_EXAMPLE, NUMBER_EXAMPLE = "0.0005 in", "0.02"
#: A tolerance is no drill size.
KIND = replace(LENGTH, others=f", {EXACT}", example=LENGTH_EXAMPLE)


def check_tolerances(stated: Mapping[str, Any], case: Case) -> tuple[dict[str, float], list[str]]:
    """Tolerances by the dimensions' keys [SI], and a line for each that is not allowed.

    Parameters
    ----------
    stated : mapping
        The study's key ``tolerances``: a length or, of a dimension that is a pure number, a number,
        by the key of a dimension of the case.
    case : Case
        The study's first, whose tolerances they are.

    Raises
    ------
    StudyError
        If anything is stated of a bore that cannot be built.
    """
    if not stated:
        return {}, []
    case.build_bore()  # for what it refuses
    dimensions = {one.key: one for one in case.dimensions()}
    units = {key: one.unit for key, one in dimensions.items()}
    if any(one.position is not None for one in dimensions.values()):
        units[ALL_DIAMETERS] = "mm"
    examples = {key: LENGTH_EXAMPLE if unit else NUMBER_EXAMPLE for key, unit in units.items()}
    known: dict[str, float] = {}
    mistakes = []
    for written, value in stated.items():
        where, key = f"tolerances.{written}", written.removeprefix("bore.")
        if key not in units:
            mistakes.append(f"{where}: not a dimension of the first case; {suggest(key, examples)}")
        elif key in known:
            mistakes.append(
                f"{where}: found twice, with and without 'bore.'; allowed is once, "
                f"for example {key}: {examples[key]}"
            )
        else:
            try:
                known[key] = _length(value) if units[key] else _number(value)
            except UnitError as problem:
                mistakes.append(f"{where}: {problem}")
                continue
            one = dimensions.get(key)
            if one is not None and one.unit and known[key] >= one.value:
                mistakes.append(
                    f"{where}: found {quoted(value)}; allowed is less than the dimension itself, "
                    f"{millimetres(one.value)}, for example {1e3 * one.value / 100:.2g} mm"
                )
    return known, mistakes


def bore_in_error(case: Case, error: Tolerance, amount: float) -> tuple[Bore, list[Dimension]]:
    """The bore of a case with one error of an amount [SI], and that bore's dimensions.

    Raises
    ------
    ValueError
        If there is no such bore.
    """
    if isinstance(case.bore, MeasuredBore):
        return in_error(case.build_bore(), case.dimensions(), error, amount)
    sizes = sizes_of(case.bore)
    drawn = values_of_sizes(sizes)
    for key, share in error.moves.items():
        sizes = with_dimension(sizes, key, drawn[key][2] + amount * share)
    return bore_from_dimensions(**sizes), dimensions_of_sizes(sizes)


def _length(text: object) -> float:
    value = 0.0 if text in (0, "0") and not isinstance(text, bool) else parse(text, KIND)
    if not 0 <= value <= LARGEST_LENGTH:
        allowed = f"a length up to {1e3 * LARGEST_LENGTH:g} mm either way, {EXACT}"
        raise UnitError(f"found {quoted(text)}; allowed is {allowed}", LENGTH_EXAMPLE)
    return value


def _number(text: object) -> float:
    try:
        value = float(text)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        value = float("nan")
    if isinstance(text, bool) or not 0 <= value <= LARGEST_NUMBER:
        allowed = f"a number up to {LARGEST_NUMBER:g} either way, {EXACT}"
        raise UnitError(f"found {quoted(text)}; allowed is {allowed}", NUMBER_EXAMPLE)
    return value
