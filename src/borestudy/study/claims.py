"""The claims of a text about a study's bores: what they mean, or why they mean nothing."""

import math
import re
from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from borestudy import units
from borestudy.claim import Claim
from borestudy.study.cases import Case
from borestudy.study.claim_files import COLUMNS, Entry, read_entries
from borestudy.study.claimed_values import Refused, Scale, tolerance_of, written_value
from borestudy.study.errors import StudyError
from borestudy.study.models import AirColumn
from borestudy.study.naming import as_written, identity
from borestudy.study.quantity_names import Named, NameProblem, litres_per_second, named, names
from borestudy.study.study import Study
from borestudy.study.texts import FORMULAS
from borestudy.study.vary import canonical_keys, check_values, section_of, variable_keys
from borestudy.units import quoted

#: What a claim may be about beside the quantities of a wish: with a flow rate, and its kind.
AT_RATE = {
    "throat Reynolds number": None,
    "throat velocity": units.SPEED,
    "dynamic pressure": units.PRESSURE,
    "loss coefficient": None,
    "discharge coefficient": None,
    "friction in the throat": units.PRESSURE,
}
CHANGE = "change of "
#: Characters of what a claim says of its place, and names that a message lists.
LONGEST, LISTED = 300, 12


def read_claims(study: Study, path: Path | None = None) -> list[Claim]:
    """The claims of a study's own file, or of another one; none of a study without claims.

    Raises
    ------
    StudyError
        One line a mistake: file and line, which column or key, what was found, what is allowed, an
        example.
    """
    file = path or study.claims_file()
    if file is None:
        return []
    found, mistakes = [], []
    for entry in read_entries(file):
        try:
            found.append(_claim(study, entry))
        except Refused as problem:
            mistakes.append(f"{file}, line {entry.line}: {problem.column}: {problem}")
    if mistakes:
        raise StudyError("\n".join(mistakes))
    return found


def _claim(study: Study, entry: Entry) -> Claim:
    cells = entry.cells
    for column in ("quantity", "value"):
        if column not in cells:
            raise Refused(column, f"missing; needed is a text, for example {COLUMNS[column]}")
    scale = _scale(study, cells["quantity"])
    case = _case(study, cells)
    number, unit = written_value(cells, scale)
    value = scale.in_results(number, unit, "value")
    tolerance, source = tolerance_of(cells, value, number, unit, scale)
    where = str(cells.get("where", f"line {entry.line}"))
    if len(where) > LONGEST or not where.isprintable() or where.startswith(FORMULAS):
        raise Refused(
            "where",
            f"found {quoted(where)}; allowed is a line of up to {LONGEST} characters, which does "
            f"not begin with {' '.join(FORMULAS)} as a spreadsheet's formula does, for example "
            f"{COLUMNS['where']}",
        )
    quantity = scale.quantity
    return Claim(
        line=entry.line,
        where=where,
        quantity=CHANGE * scale.is_change + quantity.name,
        figure=quantity.name.partition(" at ")[0],
        case=case.name,
        value=value,
        tolerance=tolerance,
        unit=scale.unit,
        written=f"{number} {unit}".strip(),
        written_unit=unit,
        written_factor=1 / scale.in_results("1", unit, "unit"),
        tolerance_source=source,
        rate_L_per_s=None if quantity.rate is None else 1e3 * quantity.rate,
        is_change=scale.is_change,
    )


def _scale(study: Study, text: Any) -> Scale:
    """What is claimed, and whether its change is."""
    words = " ".join(str(text).replace("_", " ").split())
    is_change = words.startswith(CHANGE)
    words = words.removeprefix(CHANGE)
    instrument = isinstance(study.resonance.behind, AirColumn)
    rates = [str(rate) for rate in study.flow.rates]
    head, _, at = words.partition(" at ")
    ours = head in AT_RATE and not is_change
    try:
        if not ours:
            return Scale(named(words, rates, instrument), is_change)
        # Read as any other figure of the flow, for its rate and for what is said of a wrong one.
        rate = named(f"pressure drop at {at}", rates, instrument).rate
        assert rate is not None
        name = f"{head} at {litres_per_second(rate)}"
        return Scale(Named(name, "percent", AT_RATE[head], rate), False)
    except NameProblem as problem:
        if not str(problem).startswith("no quantity"):
            example = problem.nearest.replace("pressure drop", head) if ours else problem.nearest
            raise Refused("quantity", f"{problem}, for example {example}") from None
    known = names(rates, instrument)
    every = [*known, *(f"{name} at {rates[0]}" for name in AT_RATE)]
    near = get_close_matches(words, every, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    raise Refused(
        "quantity",
        f"found {quoted(text)}, no quantity of this study; {hint}Allowed are {', '.join(every)}, "
        f"the first {len(known)} also with '{CHANGE.strip()}' before them, for example "
        f"{near[0] if near else 'resonance'}",
    )


def _case(study: Study, cells: Mapping[str, Any]) -> Case:
    """The case that a claim is about, by its name, its words or its dimensions."""
    cases = study.cases()
    if "dimensions" in cells:
        if "case" in cells:
            found = f"found {quoted(cells['dimensions'])} beside a case"
            raise Refused(
                "dimensions", f"{found}; allowed is one of the two, for example case alone"
            )
        return _by_dimensions(study, cells["dimensions"])
    if "case" not in cells:
        if len(cases) == 1:
            return cases[0]
        words = "missing; needed is the case, or its dimensions in the column dimensions"
        raise Refused("case", f"{words}, for example {cases[0].name}")
    words = str(cells["case"])
    known = {case.name: case for case in cases}
    for case in reversed(cases):
        known.setdefault(case.label, case)
    if words in known:
        return known[words]
    near = get_close_matches(words, known, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    listed = ", ".join(case.name for case in cases[:LISTED]) + ", …" * (len(cases) > LISTED)
    example = near[0] if near else cases[0].name
    raise Refused(
        "case", f"found {quoted(words)}; {hint}Allowed are {listed}, for example {example}"
    )


def _by_dimensions(study: Study, written: Any) -> Case:
    """The one case of the study whose dimensions are those that are written."""
    wanted = written if isinstance(written, Mapping) else _split(str(written))
    bore = type(study.bore)
    known, mistakes = canonical_keys({str(key): [text] for key, text in wanted.items()}, bore)
    if not mistakes:
        known, mistakes = check_values(known, study.bore, study.air)
    if mistakes:
        # They are refused as the values of a study's `vary` are.
        first = mistakes[0].removeprefix("vary.").replace("[0]", "", 1)
        key, _, message = re.sub(r"\[(.*)\]$", r"\1", first).partition(": ")
        raise Refused(f"dimensions.{key}", message)
    paths = variable_keys(bore)

    def matches(case: Case) -> bool:
        return all(
            _same(value, getattr(section_of(case.bore, case.air, paths[key]), paths[key][-1]))
            for key, (value,) in known.items()
        )

    found = [case for case in study.cases() if matches(case)]
    if len(found) == 1:
        return found[0]
    some = found or study.cases()
    listed = ", ".join(case.name for case in some[:LISTED]) + ", …" * (len(some) > LISTED)
    varied = ", ".join(f"{key}: {text}" for key, text in some[0].varied.items())
    says = f"{len(found)} cases" if found else "no case of this study"
    what = "what tells one of them from the others" if found else "the dimensions of a case"
    raise Refused(
        "dimensions",
        f"found {quoted(written)}, which is {says}; allowed is {what} ({listed}), for example "
        f"{varied or COLUMNS['dimensions']}",
    )


def _split(text: str) -> dict[str, str]:
    """``throat.diameter: drill 27, cup.depth: 10 mm`` as a mapping."""
    found = {}
    for part in re.split(r"[;,]\s*(?=[a-z_.]+\s*[:=])", text):
        key, sign, value = part.partition(":") if ":" in part else part.partition("=")
        if not sign or not value.strip():
            allowed = "allowed are dimensions with their values"
            example = COLUMNS["dimensions"]
            raise Refused("dimensions", f"found {quoted(text)}; {allowed}, for example {example}")
        found[key.strip()] = value.strip()
    return found


def _same(first: Any, second: Any) -> bool:
    one, other = identity(first), identity(second)
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9)
    return bool(one == other) or as_written(first) == as_written(second)
