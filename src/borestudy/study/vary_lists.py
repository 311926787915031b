"""The lists of a study's ``vary``, as they may be written."""

from collections.abc import Mapping
from typing import Any

from borestudy.units import quoted, split_list

_VARY_EXAMPLE = "for example throat.entry: [square, rounded 0.5 mm]"


def listed(values: Any) -> Any:
    """A text with commas as a list; anything else as it stands."""
    return split_list(values) if isinstance(values, str) and "," in values else values


def lists(vary: Any) -> Any:
    """Allow ``9, 10, 11 mm`` for a list, and refuse what is neither."""
    if not isinstance(vary, Mapping):
        raise ValueError(
            f"found {quoted(vary)}; allowed is a mapping from dimensions to lists, {_VARY_EXAMPLE}"
        )
    found = {}
    for key, values in vary.items():
        values = listed(values)
        if not isinstance(values, list):
            raise ValueError(f"{key}: found {quoted(values)}; allowed is a list, {_VARY_EXAMPLE}")
        found[key] = values
    return found
