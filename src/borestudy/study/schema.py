"""JSON schema of study files, so that editors complete keys and mark mistakes."""

from typing import Any

from borestudy.bore import ALL_DIAMETERS
from borestudy.study.dimensions import NAMED
from borestudy.study.models import BoreDimensions, MeasuredBore
from borestudy.study.quantity_names import AT_RATE, OF_RESONANCE, VOLUMES
from borestudy.study.study import Study
from borestudy.study.tolerances import LARGEST_NUMBER, LENGTH_EXAMPLE
from borestudy.study.vary import variable_keys

#: Dimensions whose number or name depends on the bore: sizes of an entry, and stations.
NUMBERED = (r"^throat\.entry\.", r"^backbore\.taper\[[0-9]+\]$", r"^station [0-9]+$")
#: What may follow a resonance's or a peak's name.
ENDINGS = [f" {word}" for word in OF_RESONANCE]


def study_schema() -> dict[str, Any]:
    """Schema made from the models, with the dimensions that may be varied as known keys."""
    schema = Study.model_json_schema(by_alias=True)
    # The name of the file stands in where a study has no name of its own.
    schema["required"].remove("name")
    keys = variable_keys(BoreDimensions) | variable_keys(MeasuredBore)
    vary = schema["properties"]["vary"]
    vary["additionalProperties"] = False
    vary["properties"] = {
        spelled: {
            "anyOf": [{"type": "array", "minItems": 1}, {"type": "string", "pattern": ","}],
            "description": f"values of {key}",
        }
        for key in keys
        for spelled in ([key] if key.startswith("air.") else [key, f"bore.{key}"])
    }
    schema["properties"]["tolerances"] |= {
        "additionalProperties": False,
        "properties": {key: _tolerance(unit) for key, (*_, unit) in NAMED.items()}
        | {"backbore.taper": _tolerance(""), ALL_DIAMETERS: _tolerance("mm")},
        "patternProperties": {pattern: _tolerance("mm") for pattern in NUMBERED},
    }
    _complete_wish(schema["$defs"])
    # What is left out of the bore because it is varied cannot be required by a schema.
    for model in ("BoreDimensions", "Cup", "Throat", "Backbore", "MeasuredBore"):
        schema["$defs"][model].pop("required", None)
    rates = schema["$defs"]["Flow"]["properties"]["rates"]
    written = {name: rates.pop(name) for name in ("type", "items")}
    rates["anyOf"] = [written, {"type": "string"}]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _complete_wish(models: dict[str, Any]) -> None:
    """Name the quantities and dimensions of a wish, and allow numbers where texts may be such."""
    wish = models["Wish"]["properties"]
    for kind in ("change", "reach", "keep"):
        written = {"type": ["string", "number"] if kind == "reach" else "string"}
        wish[kind] |= {
            "additionalProperties": False,
            "properties": dict.fromkeys(
                [*(f"resonance{ending}" for ending in ("", *ENDINGS)), *VOLUMES], written
            ),
            "patternProperties": {
                f"^({'|'.join(AT_RATE)}) at ": written,
                f"^peak [1-9][0-9]?({'|'.join(ENDINGS)})?$": written,
            },
        }
    entry = {"anyOf": [{"$ref": "#/$defs/FreeDimension"}, {"type": "null"}]}
    wish["free"] |= {
        "additionalProperties": False,
        "properties": dict.fromkeys([*NAMED, "backbore.taper"], entry),
        "patternProperties": dict.fromkeys(NUMBERED[:2], entry),
    }
    for limit in models["FreeDimension"]["properties"].values():
        choices = limit.pop("anyOf", [{"type": limit.pop("type", "string")}])
        limit["anyOf"] = [*choices, {"type": "number"}]


def _tolerance(unit: str) -> dict[str, Any]:
    """Schema of the tolerance of a dimension in a unit."""
    if unit:
        return {"type": ["string", "number"], "examples": [LENGTH_EXAMPLE]}
    return {"type": "number", "minimum": 0, "maximum": LARGEST_NUMBER, "examples": [0.02]}
