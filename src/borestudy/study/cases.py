"""One case for every combination of what a study varies."""

import itertools
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ValidationError

from borestudy.study import naming
from borestudy.study.errors import StudyError, dotted, example_of, explain, suggest
from borestudy.study.models import AirConditions, BoreDimensions, MeasuredBore, Section
from borestudy.units import parse_pressure, parse_share, parse_temperature

if TYPE_CHECKING:
    from borestudy.air import Air
    from borestudy.bore import Bore

#: So many cases a study may have: what Snakemake still plans.
MAX_CASES = 10_000
#: Name of the only case of a study that varies nothing.
SINGLE_CASE = "base"


@dataclass(frozen=True)
class Case:
    """One bore in one air.

    Attributes
    ----------
    name : str
        Readable, stable, safe as a folder's name.
    varied : dict
        Dotted key of each varied dimension to its value as the study writes it.
    bore : BoreDimensions or MeasuredBore
    air : AirConditions
    directory : pathlib.Path
        Where files the case names are looked for.
    values : dict
        As ``varied``, before it was made text.
    """

    name: str
    varied: dict[str, str]
    bore: BoreDimensions | MeasuredBore
    air: AirConditions
    directory: Path
    values: dict[str, Any] = field(default_factory=dict, repr=False)

    def build_bore(self) -> "Bore":
        """The case's bore as exact segments.

        Raises
        ------
        StudyError
            If the dimensions make no bore; the message names case, key, found and allowed.
        """
        # Naming cases and listing their files must not wait for SciPy to load.
        from borestudy.study.building import build_bore

        return build_bore(self)

    def build_air(self) -> "Air":
        """Constants of the case's air."""
        from borestudy.air import humid_air

        return humid_air(
            parse_temperature(self.air.temperature),
            parse_share(self.air.relative_humidity),
            parse_pressure(self.air.pressure),
        )

    @property
    def label(self) -> str:
        """What tells the case from the others, in words."""
        return naming.label(self.varied)

    def varied_columns(self) -> dict[str, float | str | None]:
        """Varied dimensions as table columns with their units in the name."""
        table: dict[str, float | str | None] = {}
        for key, value in self.values.items():
            table |= naming.columns(key, value)
        return table

    def description(self) -> dict[str, Any]:
        """The case's bore and air as text: changes exactly when its results may change."""
        return {
            "bore": self.bore.model_dump(mode="json", by_alias=True),
            "air": self.air.model_dump(mode="json", by_alias=True),
        }

    def input_files(self) -> list[Path]:
        """Files the case's bore is read from."""
        if isinstance(self.bore, MeasuredBore):
            return [self.directory / self.bore.stations]
        return []


def _examples(bore: type[BaseModel]) -> dict[str, str]:
    """Each key that may be varied, with a list for it."""
    examples = {}
    for key, (*above, last) in variable_keys(bore).items():
        section: Any = AirConditions if above == ["air"] else bore
        for name in above if section is bore else []:
            section = section.model_fields[name].annotation
        examples[key] = f"[{example_of(section.model_fields[last])}]"
    return examples


def variable_keys(bore: type[BaseModel]) -> dict[str, tuple[str, ...]]:
    """Dotted keys that may be varied, each with the attributes that lead to it."""
    return dict(_leaves(bore, ())) | dict(_leaves(AirConditions, ("air",)))


def _leaves(
    model: type[BaseModel], above: tuple[str, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    for name, info in model.model_fields.items():
        path = (*above, name)
        if isinstance(info.annotation, type) and issubclass(info.annotation, Section):
            yield from _leaves(info.annotation, path)
        else:
            yield dotted(*path), path


def canonical_keys(
    vary: dict[str, list[Any]], bore: type[BaseModel]
) -> tuple[dict[str, list[Any]], list[str]]:
    """Varied values by their key inside the bore, and a line for each key that is none."""
    allowed = variable_keys(bore)
    known: dict[str, list[Any]] = {}
    mistakes = []
    for written, values in vary.items():
        key = written.removeprefix("bore.")
        if key not in allowed:
            mistakes.append(
                f"vary.{written}: not a dimension of this bore; {suggest(key, _examples(bore))}"
            )
        elif key in known:
            mistakes.append(
                f"vary.{written}: found twice, with and without 'bore.'; allowed is once, "
                f"for example {key}: {_examples(bore)[key]}"
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
    vary: dict[str, list[Any]], bore: BoreDimensions | MeasuredBore, air: AirConditions
) -> tuple[dict[str, list[Any]], list[str]]:
    """Varied values as the models keep them, and a line for each that is not allowed there."""
    allowed = variable_keys(type(bore))
    kept: dict[str, list[Any]] = {key: [] for key in vary}
    mistakes = []
    for key, values in vary.items():
        *above, last = allowed[key]
        section, scratch = _section(bore.model_copy(deep=True), air.model_copy(), above)
        for index, value in enumerate(values):
            try:
                setattr(section, last, value)
            except ValidationError as error:
                within = dotted("vary", key, index)
                mistakes += [
                    line.replace(f"{within}.{last}", within, 1)
                    for line in explain(error, type(section), within=within)
                ]
            else:
                kept[key].append(section.model_dump()[last])
        del scratch
    return kept, mistakes


def _section(
    bore: BoreDimensions | MeasuredBore, air: AirConditions, above: list[str]
) -> tuple[Any, Any]:
    """The section that the attributes in ``above`` lead to, and the whole that keeps it."""
    if above == ["air"]:
        return air, air
    section: Any = bore
    for name in above:
        section = getattr(section, name)
    return section, bore


def expand(
    vary: dict[str, list[Any]],
    combine: str,
    bore: BoreDimensions | MeasuredBore,
    air: AirConditions,
    directory: Path,
) -> list[Case]:
    """All cases of a study, the first varied dimension changing slowest.

    Raises
    ------
    StudyError
        If paired lists differ in length, if there are too many cases, or if two are the same.
    """
    if combine == "paired" and len({len(values) for values in vary.values()}) > 1:
        lengths = ", ".join(f"{key} has {len(values)}" for key, values in vary.items())
        raise StudyError(
            f"vary: found lists of unequal lengths ({lengths}) with combine: paired; allowed are "
            "lists of one length, or combine: grid for every combination, for example "
            "{throat.diameter: [drill 27, drill 26], cup.depth: [10 mm, 11 mm]}"
        )
    count = (
        math.prod(map(len, vary.values()))
        if combine == "grid"
        else max(map(len, vary.values()), default=1)
    )
    if count > MAX_CASES:
        product = " x ".join(f"{len(values)} of {key}" for key, values in vary.items())
        raise StudyError(
            f"vary: found {count:,} cases ({product}); allowed are {MAX_CASES:,}, for example "
            "{throat.diameter: [drill 27, drill 26], cup.depth: [10 mm, 11 mm]}"
        )
    _refuse_repeats(vary, combine)
    paths = variable_keys(type(bore))
    rows = (
        zip(*vary.values(), strict=True)
        if combine == "paired"
        else itertools.product(*vary.values())
    )
    cases = []
    for row in rows if vary else [()]:
        values = dict(zip(vary, row, strict=True))
        this_bore, this_air = bore.model_copy(deep=True), air.model_copy()
        for key, value in values.items():
            *above, last = paths[key]
            setattr(_section(this_bore, this_air, above)[0], last, value)
        cases.append(
            Case(
                name="__".join(naming.name_part(key, value) for key, value in values.items())
                or SINGLE_CASE,
                varied={key: naming.as_written(value) for key, value in values.items()},
                bore=this_bore,
                air=this_air,
                directory=directory,
                values=values,
            )
        )
    for name, count in Counter(case.name for case in cases).items():
        if count > 1:
            raise StudyError(
                f"vary: found {count} cases that would all be named {name}; allowed are values "
                "that differ in letters or digits, for example {stations: [one.csv, two.csv]}"
            )
    return cases


def _refuse_repeats(vary: dict[str, list[Any]], combine: str) -> None:
    """Refuse values that are the same however they are written."""
    # In paired lists one column may repeat a value as long as the rows differ.
    groups: list[tuple[str, list[Any], list[str]]] = []
    if combine == "paired":
        rows = list(zip(*vary.values(), strict=True))
        same = [
            tuple(naming.identity(key, value) for key, value in zip(vary, row, strict=True))
            for row in rows
        ]
        groups.append(("", same, [" with ".join(map(naming.as_written, row)) for row in rows]))
    else:
        for key, values in vary.items():
            same = [naming.identity(key, value) for value in values]
            groups.append((f".{key}", same, [naming.as_written(value) for value in values]))
    for where, same, written in groups:
        first: dict[Any, str] = {}
        for meaning, text in zip(same, written, strict=True):
            if meaning in first:
                raise StudyError(
                    f"vary{where}: found {first[meaning]!r} and {text!r}, which are the same; "
                    f"allowed is each value once, for example [{first[meaning]}]"
                )
            first[meaning] = text
