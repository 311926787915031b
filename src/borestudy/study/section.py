"""What all sections of a study file share."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Section(BaseModel):
    """What all sections share: no unknown keys, and every value is checked, however it comes."""

    model_config = ConfigDict(extra="forbid", validate_assignment=True, validate_default=True)


def setting(description: str, *examples: Any, **options: Any) -> Any:
    """A key of a section: what its value is in words, examples, and pydantic's options.

    A default is written as in a file, and the section checks it like one.
    """
    return Field(description=description, examples=list(examples) or None, **options)
