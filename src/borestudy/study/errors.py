"""What a study file's author is told: one line a mistake, in the words of the file."""

from collections.abc import Mapping
from difflib import get_close_matches
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from borestudy.study.texts import shown
from borestudy.units import UnitError, quoted


class StudyError(ValueError):
    """A study that cannot be run: which key, what was found, what is allowed, an example."""

    def __init__(self, message: str) -> None:
        super().__init__(shown(message))


class KeyedError(ValueError):
    """A condition between several keys of one section, told at the key to be changed."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__(message)
        self.key = key


def explain(error: ValidationError, model: type[BaseModel], *, within: str = "") -> list[str]:
    """One line for each mistake that pydantic found in a model, without pydantic's own wording.

    ``within`` is the dotted key of the model inside the study, to be put in front.
    """
    return [_line(entry, model, within) for entry in error.errors()]


def dotted(*parts: str | int) -> str:
    """``bore.cup.depth`` or ``flow.rates[2]`` from the steps that lead there."""
    key = ""
    for part in parts:
        key += f"[{part}]" if isinstance(part, int) else f".{part}" if key else part
    return key


def suggest(key: str, allowed: Mapping[str, str]) -> str:
    """Name the allowed key that is nearest to one, and all others with a value for the nearest."""
    near = get_close_matches(key, allowed, n=1)
    hint = f"did you mean {near[0]}? " if near else ""
    example = near[0] if near else next(iter(allowed))
    return f"{hint}Allowed keys are {', '.join(allowed)}, for example {example}: {allowed[example]}"


def _line(entry: Any, model: type[BaseModel], within: str) -> str:
    # The place may go through the tags of a union, written <so>: they are no keys of the file.
    steps = [step for step in entry["loc"] if not str(step).startswith("<")]
    owner, field = _locate(model, list(entry["loc"]))
    key = dotted(*([within] if within else []), *steps)
    found = quoted(entry["input"])
    match entry["type"]:
        case "value_error":
            problem = entry["ctx"]["error"]
            if isinstance(problem, KeyedError):
                key = dotted(key, problem.key) if key else problem.key
            if isinstance(problem, UnitError):
                # A key allows less than its kind of quantity: 3.66 mm is no overall length.
                whole = field is not None and not isinstance(steps[-1], int)
                example = example_of(field) if field and whole else problem.example
                return f"{key}: {problem.reason}, for example {example}"
            return f"{key}: {problem}"
        case "extra_forbidden":
            fields = zip(keys_of(owner), owner.model_fields.values(), strict=True)
            examples = {name: _within_braces(example_of(info)) for name, info in fields}
            return f"{key}: unknown key; {suggest(str(steps[-1]), examples)}"
        case "missing":
            return f"{key}: missing; needed is {_allowed(owner, field)}"
        case "literal_error" if field is None or not sections_in(field.annotation):
            allowed = entry["ctx"]["expected"].replace("'", "")
            return f"{key}: found {found}; allowed is {allowed}{_example(field)}"
        case _:
            return f"{key}: found {found}; allowed is {_allowed(owner, field)}"


def keys_of(model: type[BaseModel]) -> list[str]:
    """Keys of a section as the file spells them."""
    return [field.alias or name for name, field in model.model_fields.items()]


def sections_in(annotation: Any) -> list[type[BaseModel]]:
    """The models a field may hold, through unions, lists and annotations."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) in (Union, UnionType, Annotated, list, dict):
        return [model for part in get_args(annotation) for model in sections_in(part)]
    return []


def _locate(model: type[BaseModel], steps: list[Any]) -> tuple[type[BaseModel], FieldInfo | None]:
    """The model that holds the last step of a place, and the field there if it has one."""
    owner, field = model, None
    choices: list[type[BaseModel]] = []
    named_freely = False  # whether the step is the key of an entry of a mapping, of any name
    for step in steps:
        if isinstance(step, int) or named_freely:
            named_freely = False
            continue
        if str(step).startswith("<"):
            tagged = [choice for choice in choices if choice.__name__ == str(step)[1:-1]]
            choices = tagged or choices
            continue
        owner = choices[0] if choices else owner
        named = {info.alias or name: info for name, info in owner.model_fields.items()}
        field = named.get(str(step))
        choices = sections_in(field.annotation) if field else []
        named_freely = field is not None and get_origin(field.annotation) is dict
    return owner, field


def _allowed(owner: type[BaseModel], field: FieldInfo | None) -> str:
    if field is None:
        return f"a mapping with the keys {', '.join(keys_of(owner))}{_example(field)}"
    sections = sections_in(field.annotation)
    words = field.description or "a value"
    if sections:
        words += " (" + " or ".join(", ".join(keys_of(section)) for section in sections) + ")"
    return words + _example(field)


def _example(field: FieldInfo | None) -> str:
    return f", for example {example_of(field)}" if field else ""


def _within_braces(value: str) -> str:
    """A value that may stand in a section: a comma would end it, unless it is a section itself."""
    return f'"{value}"' if "," in value and not value.startswith("{") else value


def example_of(field: FieldInfo) -> str:
    """A value for a field as a study file writes it; all that is needed of a section."""
    if field.examples:
        return str(field.examples[0])
    (section, *_) = sections_in(field.annotation)
    fields = section.model_fields
    needed = [name for name, info in fields.items() if info.is_required()] or [next(iter(fields))]
    values = {name: _within_braces(example_of(fields[name])) for name in needed}
    inside = ", ".join(f"{fields[name].alias or name}: {value}" for name, value in values.items())
    return f"{{{inside}}}"
