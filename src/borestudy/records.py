"""Typed results as JSON and as table columns, by one rule: a field is a key, its unit the end.

A field of type `Quantity` is declared with its unit by `quantity` and becomes the keys
``NAME_UNIT`` and ``NAME_UNIT_uncertainty``, its values on each mesh ``levels[NAME_UNIT]``.  A plain
field is a key as it stands, so its name ends in its unit.  Records may hold records, tuples
of them and mappings to them.
"""

import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, Union, get_args, get_origin, get_type_hints

from borestudy.files import FileError, read_json, write_json
from borestudy.quantity import Quantity

if TYPE_CHECKING:
    import pandas as pd

#: Raised whenever a reader of the version before would misread a file.
SCHEMA_VERSION = 2
SCHEMA_KEY = "schema_version"
LEVELS = "levels"
Record = TypeVar("Record")


def quantity(unit: str = "") -> Any:
    """A field for a `Quantity` or a mapping of names to them, None where it is not known."""
    return field(default=None, metadata={"unit": unit})


def to_plain(record: Any) -> dict[str, Any]:
    """Convert a record of numbers, texts, quantities, and parts of such, to what JSON knows."""
    plain: dict[str, Any] = {}
    levels: dict[str, list[float | None]] = {}
    for key, of in _described(type(record)).items():
        value = getattr(record, key)
        if of.unit is None:
            plain[key] = _plain(value)
        elif isinstance(value, Mapping):
            plain[of.key] = {name: number.value for name, number in value.items()}
            plain[of.uncertainty] = {name: number.uncertainty for name, number in value.items()}
        else:
            plain[of.key] = None if value is None else value.value
            plain[of.uncertainty] = None if value is None else value.uncertainty
            if value is not None and value.levels:
                levels[of.key] = list(value.levels)
    return plain | ({LEVELS: levels} if levels else {})


def columns(record: Any) -> dict[str, Any]:
    """The cells of a record in a table: what `to_plain` gives, without what has parts."""
    cells: dict[str, Any] = {}
    for key, of in _described(type(record)).items():
        value = getattr(record, key)
        if isinstance(value, Mapping | list | tuple) or (is_dataclass(value) and of.unit is None):
            continue
        if of.unit is None:
            cells[key] = value
        else:
            cells[of.key] = None if value is None else value.value
            cells[of.uncertainty] = None if value is None else value.uncertainty
    return cells


class Rows(tuple[Record, ...]):
    """Records of one kind, in order, with a table form and a text of a line each."""

    def to_frame(self) -> "pd.DataFrame":
        """A table with a row for each, without columns in which no record has anything."""
        import pandas as pd  # not to be waited for by whoever reads one record

        return pd.DataFrame([columns(record) for record in self]).dropna(axis=1, how="all")

    def __repr__(self) -> str:
        """One line for each record."""
        return "\n".join(map(str, self))


def from_plain(kind: type[Record], plain: Mapping[str, Any]) -> Record:
    """A record of a class from what `to_plain` made of it; keys it does not know are left.

    Raises
    ------
    ValueError
        If a key is missing that has no default.
    """
    levels = plain.get(LEVELS, {})
    given: dict[str, Any] = {}
    for key, of in _described(kind).items():
        if of.unit is None:
            if key in plain:
                given[key] = _typed(of.type, plain[key])
            elif of.required:
                raise ValueError(f"{kind.__name__}: found no key {key!r}, which it must have")
            continue
        value, error = plain.get(of.key), plain.get(of.uncertainty)
        if isinstance(value, Mapping):
            errors = error or {}
            given[key] = {
                name: Quantity(number, errors.get(name), of.unit) for name, number in value.items()
            }
        elif value is not None:
            given[key] = Quantity(value, error, of.unit, tuple(levels.get(of.key, ())))
    return kind(**given)


def write_record(path: Path | str, record: Any) -> None:
    """Write a record as JSON, whole or not at all, with the version of its keys."""
    write_json(path, {SCHEMA_KEY: SCHEMA_VERSION} | to_plain(record))


def read_record(path: Path | str, kind: type[Record]) -> Record:
    """Read what `write_record` wrote.

    Raises
    ------
    FileError
        Naming the file and what to do, where it is missing, not whole, of another version or
        without a key that the record must have.
    """
    plain = read_json(path)
    version = plain.get(SCHEMA_KEY) if isinstance(plain, dict) else None
    if version != SCHEMA_VERSION:
        found = f"no {SCHEMA_KEY}" if version is None else f"{SCHEMA_KEY} {version}"
        raise FileError(
            f"{path}: found {found}, allowed is {SCHEMA_VERSION}; delete it and run again"
        )
    try:
        return from_plain(kind, plain)
    except ValueError as problem:
        raise FileError(f"{path}: {problem}; delete it and run again") from None


@dataclass(frozen=True)
class _Described:
    """A field: the unit of a quantity or None, its type, whether it must be given."""

    name: str
    unit: str | None
    type: Any
    required: bool

    @property
    def key(self) -> str:
        return f"{self.name}_{self.unit}" if self.unit else self.name

    @property
    def uncertainty(self) -> str:
        return f"{self.key}_uncertainty"


def _describe(kind: Any) -> dict[str, _Described]:
    hints = get_type_hints(kind)
    if LEVELS in hints and any("unit" in one.metadata for one in fields(kind)):
        raise TypeError(
            f"{kind.__name__}: found a field {LEVELS!r}; that key has the quantities' values on "
            "each mesh; allowed is any other name"
        )
    return {
        one.name: _Described(
            one.name,
            one.metadata.get("unit"),
            hints[one.name],
            one.default is MISSING and one.default_factory is MISSING,
        )
        for one in fields(kind)
    }


#: Kept for each class, since a record is written for every rate of every case.
_described: Callable[[Any], dict[str, _Described]] = cache(_describe)


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return to_plain(value)
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    return value


@cache
def _parts_of(kind: Any) -> tuple[Any, tuple[Any, ...]]:
    """What a type is of, and its arguments."""
    return get_origin(kind), get_args(kind)


def _typed(kind: Any, plain: Any) -> Any:
    """Convert what JSON gave to the type that a field has."""
    if plain is None:
        return None
    origin, arguments = _parts_of(kind)
    if origin in (Union, types.UnionType):
        return _typed(next(one for one in arguments if one is not type(None)), plain)
    if is_dataclass(kind) and isinstance(kind, type):
        return from_plain(kind, plain)
    if origin in (tuple, Sequence):
        if arguments[0] in (float, int, str):  # curves have thousands of numbers
            return tuple(plain)
        return tuple(_typed(arguments[0], part) for part in plain)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {key: _typed(arguments[1], part) for key, part in plain.items()}
    return plain
