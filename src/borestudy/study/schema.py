"""JSON schema of study files, so that editors complete keys and mark mistakes."""

from typing import Any

from borestudy.study.models import BoreDimensions, MeasuredBore
from borestudy.study.study import Study
from borestudy.study.vary import variable_keys


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
    # What is left out of the bore because it is varied cannot be required by a schema.
    for model in ("BoreDimensions", "Cup", "Throat", "Backbore", "MeasuredBore"):
        schema["$defs"][model].pop("required", None)
    rates = schema["$defs"]["Flow"]["properties"]["rates"]
    written = {name: rates.pop(name) for name in ("type", "items")}
    rates["anyOf"] = [written, {"type": "string"}]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
