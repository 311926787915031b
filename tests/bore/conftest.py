"""A bore of round dimensions, and how to change one of them."""

from collections.abc import Callable
from typing import Any

import pytest

from borestudy.bore import Bore, Entry, bore_from_dimensions

Make = Callable[..., Bore]


@pytest.fixture
def make() -> Make:
    """The bore of these dimensions [mm], any of them changed."""

    def bore(entry: Entry | None = None, **changed: Any) -> Bore:
        dimensions = {
            "length": 88.0,
            "cup_diameter": 16.0,
            "cup_depth": 11.0,
            "throat_diameter": 4.0,
            "throat_length": 5.0,
            "backbore_end_diameter": 9.0,
        }
        shape = changed.pop("cup_shape", 0.6)
        taper = changed.pop("backbore_taper", "straight")
        lengths = {name: 1e-3 * value for name, value in (dimensions | changed).items()}
        return bore_from_dimensions(
            entry=entry or Entry(), cup_shape=shape, backbore_taper=taper, **lengths
        )

    return bore
