"""What a study varies: which keys may be varied, with which values, and in which combinations."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from borestudy.study import naming
from borestudy.study.errors import StudyError, dotted, example_of, explain, suggest
from borestudy.study.models import AirConditions, BoreDimensions, MeasuredBore, Section

AnyBore = BoreDimensions | MeasuredBore
#: So many cases a study may have: what Snakemake still plans.
MAX_CASES = 10_000
_TWO_LISTS = "{throat.diameter: [drill 27, drill 26], cup.depth: [10 mm, 11 mm]}"


def variable_keys(bore: type[BaseModel]) -> dict[str, tuple[str, ...]]:
    """Dotted keys that may be varied, each with the attributes that lead to it."""
    return {dotted(*path): path for path, _ in _fields(bore)}


def _fields(bore: type[BaseModel]) -> Iterator[tuple[tuple[str, ...], FieldInfo]]:
    """Each field of a bore and of the air, with the attributes that lead to it."""
    yield from _leaves(bore)
    yield from _leaves(AirConditions, "air")


def _leaves(model: type[BaseModel], *above: str) -> Iterator[tuple[tuple[str, ...], FieldInfo]]:
    for name, info in model.model_fields.items():
        if isinstance(info.annotation, type) and issubclass(info.annotation, Section):
            yield from _leaves(info.annotation, *above, name)
        else:
            yield (*above, name), info


def section_of(bore: AnyBore, air: AirConditions, path: Sequence[str]) -> Any:
    """The section that holds the attribute at the end of a path."""
    section: Any = bore
    for name in path[:-1]:
        section = air if name == "air" else getattr(section, name)
    return section


def canonical_keys(
    vary: Mapping[str, list[Any]], bore: type[BaseModel]
) -> tuple[dict[str, list[Any]], list[str]]:
    """Varied values by their key inside the bore, and a line for each key that is none."""
    examples = {dotted(*path): f"[{example_of(info)}]" for path, info in _fields(bore)}
    known: dict[str, list[Any]] = {}
    mistakes = []
    for written, values in vary.items():
        key = written.removeprefix("bore.")
        if key not in examples:
            mistakes.append(
                f"vary.{written}: not a dimension of this bore; {suggest(key, examples)}"
            )
        elif key in known:
            mistakes.append(
                f"vary.{written}: found twice, with and without 'bore.'; allowed is once, "
                f"for example {key}: {examples[key]}"
            )
        elif not values:
            mistakes.append(
                f"vary.{written}: found an empty list; allowed is a list of at least one value, "
                "for example throat.entry: [square, rounded 0.5 mm]"
            )
        else:
            known[key] = values
    return known, mistakes


def check_values(
    vary: Mapping[str, list[Any]], bore: AnyBore, air: AirConditions
) -> tuple[dict[str, list[Any]], list[str]]:
    """Varied values as the models keep them, and a line for each that is not allowed there."""
    paths = variable_keys(type(bore))
    kept: dict[str, list[Any]] = {key: [] for key in vary}
    mistakes = []
    for key, values in vary.items():
        bore_copy, air_copy, last = bore.model_copy(deep=True), air.model_copy(), paths[key][-1]
        section = section_of(bore_copy, air_copy, paths[key])
        for index, value in enumerate(values):
            # What the bore itself has was parsed with it.
            if value == getattr(section, last):
                value = getattr(section, last)
            try:
                setattr(section, last, value)
            except ValidationError as error:
                within = dotted("vary", key, index)
                mistakes += [
                    line.replace(f"{within}.{last}", within, 1)
                    for line in explain(error, type(section), within=within)
                ]
            else:
                kept[key].append(getattr(section, last))
    return kept, mistakes


def combinations(vary: Mapping[str, list[Any]], combine: str) -> list[dict[str, Any]]:
    """Values of each case by their keys, the first varied dimension changing slowest.

    Raises
    ------
    StudyError
        If paired lists differ in length, if there are too many cases, or if two are the same.
    """
    paired = combine == "paired"
    counts = [len(values) for values in vary.values()]
    if paired and len(set(counts)) > 1:
        lengths = ", ".join(f"{key} has {len(values)}" for key, values in vary.items())
        raise StudyError(
            f"vary: found lists of unequal lengths ({lengths}) with combine: paired; allowed are "
            f"lists of one length, or combine: grid for every combination, for example {_TWO_LISTS}"
        )
    count = max(counts, default=1) if paired else math.prod(counts)
    if count > MAX_CASES:
        product = " x ".join(f"{len(values)} of {key}" for key, values in vary.items())
        raise StudyError(
            f"vary: found {count:,} cases ({product}); allowed are {MAX_CASES:,}, for example "
            f"{_TWO_LISTS}"
        )
    if not paired:
        for key, values in vary.items():
            _refuse_repeats(f".{key}", [{key: value} for value in values])
    rows = zip(*vary.values(), strict=True) if paired else itertools.product(*vary.values())
    cases = [dict(zip(vary, row, strict=True)) for row in rows] if vary else [{}]
    if paired:
        # One column may repeat a value as long as the rows differ.
        _refuse_repeats("", cases)
    return cases


def _refuse_repeats(where: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Refuse rows of values that are the same however they are written."""
    first: dict[Any, str] = {}
    for row in rows:
        meaning = tuple(naming.identity(value) for value in row.values())
        text = " with ".join(map(naming.as_written, row.values()))
        if meaning in first:
            raise StudyError(
                f"vary{where}: found {first[meaning]!r} and {text!r}, which are the same; "
                f"allowed is each value once, for example [{first[meaning]}]"
            )
        first[meaning] = text
