"""Which columns of a file of readings are position and diameter, and in which unit."""

import re
from dataclasses import dataclass, field

from borestudy.bore.measured.cells import ALLOWED, EXAMPLE, Row, refused
from borestudy.bore.measured.findings import Finding
from borestudy.units import LENGTH, LONGEST_SHOWN

POSITION, DIAMETER, RADIUS = "position", "diameter", "radius"
#: Words that a column's name may have, in the languages whose decimal sign is a comma as well.
WORDS = {
    POSITION: "position pos x z distance depth station abstand tiefe lage profondeur posizione "
    "posicion posición distanza distancia",
    DIAMETER: "diameter diam dia d ø ⌀ id durchmesser diamètre diametre diametro diámetro",
    RADIUS: "radius rad r rayon raggio radio",
}
_KIND = {word: kind for kind, words in WORDS.items() for word in words.split()}
#: Units of columns, by what is written; micrometres and metres are no gauge's.
UNITS = {
    "mm": "mm", "millimetres": "mm", "millimeters": "mm", "cm": "cm", "in": "in", "inch": "in",
    "inches": "in", '"': "in", "″": "in", "thou": "thou", "mil": "thou", "mils": "thou",
}  # fmt: skip
#: Units of one rule: a file in both systems is a mistake.
METRIC = ("mm", "cm")
_TOKEN = re.compile(r"[^\W\d_]+|⌀|\"|″")
_NUMBER_IN_NAME = re.compile(r"[\W_]*\d+")


def factor(unit: str) -> float:
    """One of a unit in metres."""
    return float(LENGTH.factors[unit])


@dataclass(frozen=True)
class Column:
    """A column that is read."""

    number: int
    name: str
    kind: str
    unit: str = ""


@dataclass(frozen=True)
class Columns:
    """The columns of a file: one of positions, one or more of diameters or of radii.

    `counted_from` is the end that the positions' column is named after, if it is.
    """

    width: int
    position: Column
    across: tuple[Column, ...]
    counted_from: str = ""
    others: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    @property
    def units(self) -> tuple[str, ...]:
        """Units that the names give, each once."""
        return tuple(dict.fromkeys(c.unit for c in (self.position, *self.across) if c.unit))

    @property
    def factor_across(self) -> float:
        """Diameters in one of the columns' numbers: two of a radius."""
        return 2.0 if self.across[0].kind == RADIUS else 1.0


def is_header(row: Row) -> bool:
    """Whether a row names a column of positions and one of diameters or radii."""
    kinds = {column.kind for column in _known(row)}
    return POSITION in kinds and bool(kinds & {DIAMETER, RADIUS})


def with_units(names: Row, below: Row) -> Row | None:
    """The columns' names with the units that the row below has; None if it has other cells."""
    units = [cell.strip("()[] ").lower() for cell in below.cells]
    if len(units) != len(names.cells) or not any(units) or not {*units} <= {*UNITS, ""}:
        return None
    joined = (f"{name} {unit}".strip() for name, unit in zip(names.cells, units, strict=True))
    return Row(names.line, tuple(joined))


def nameless(row: Row, name: str) -> Columns:
    """The columns of a file whose first line has numbers already: position, diameter.

    Raises
    ------
    BoreError
        If there are more or fewer than two columns.
    """
    if len(row.cells) != 2:
        shown = ", ".join(row.cells)
        raise refused(f"{name}, line {row.line}", f"found {len(row.cells)} number(s) {_cut(shown)} "
                      f"and no line before that names the columns; allowed are {ALLOWED}",
                      EXAMPLE)  # fmt: skip
    text = "no line names the columns; read as position and diameter, in this order"
    found = Finding("no header", (row.line,), text)
    columns = (Column(0, POSITION, POSITION), Column(1, DIAMETER, DIAMETER))
    return Columns(2, columns[0], columns[1:], findings=(found,))


def named(row: Row, name: str) -> Columns:
    """The columns that a header names.

    Several columns of diameters, whose names differ in a number, are repeated
    readings.

    Raises
    ------
    BoreError
        If the names say too little, the same twice, or both systems of units.
    """
    known = _known(row)
    shown = _cut(", ".join(row.cells))
    positions = [column for column in known if column.kind == POSITION]
    across = [column for column in known if column.kind in (DIAMETER, RADIUS)]
    units = {column.unit for column in known if column.unit}
    metric = units & set(METRIC)
    names = [column.name for column in known]
    problem = ""
    if len(positions) > 1 and metric and units - metric:
        problem = f"found the columns {shown}, in both units; allowed is one unit, {ALLOWED}"
    elif not (positions and across) or (metric and units - metric):
        problem = f"found the columns {shown}; allowed are {ALLOWED}"
    elif twice := [one for one in names if names.count(one) > 1]:
        problem = f"found the column {twice[0]} twice; allowed is each once"
    elif len(positions) > 1 or len({(c.kind, _NUMBER_IN_NAME.sub("", c.name)) for c in across}) > 1:
        several = positions if len(positions) > 1 else across
        problem = (
            f"found the columns {_cut(', '.join(one.name for one in several))}, of which any may "
            f"be meant; allowed are {ALLOWED}"
        )
    if problem:
        raise refused(name, problem, EXAMPLE)
    found = []
    taken = {column.number for column in known}
    others = tuple(cell for k, cell in enumerate(row.cells) if k not in taken and cell)
    if others:
        text = f"column{'s' if len(others) > 1 else ''} {_cut(', '.join(others))} not read"
        found.append(Finding("other columns", (row.line,), text))
    if across[0].kind == RADIUS:
        text = f"the column {across[0].name} is read as radii; a diameter is twice that"
        found.append(Finding("radius", (row.line,), text))
    return Columns(len(row.cells), positions[0], tuple(across), _counted_from(positions[0].name),
                   others, tuple(found))  # fmt: skip


def _known(row: Row) -> list[Column]:
    """The columns whose names say what they are."""
    found = []
    for number, cell in enumerate(row.cells):
        words = _TOKEN.findall(cell.lower())
        kinds = list(dict.fromkeys(_KIND[word] for word in words if word in _KIND))
        units = [UNITS[word] for word in words if word in UNITS]
        # Of "distance from the rim to the diameter" no kind is sure.
        if len(kinds) == 1:
            found.append(Column(number, cell, kinds[0], units[-1] if units else ""))
    return found


def _counted_from(name: str) -> str:
    """The end that positions are counted from by their column's name, if it says so."""
    words = _TOKEN.findall(name.lower())
    ends = [end for end in ("rim", "shank") if end in words]
    return ends[0] if len(ends) == 1 else ""


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]} ..."
