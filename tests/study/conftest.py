"""Study files to be read, and the line a mistake in one is answered with."""

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from borestudy.study import Study, StudyError, study_from_mapping

EXAMPLE = """\
name: entry-rounding
question: Does rounding the throat entry lower the flow resistance?
air: {temperature: 25 degC, relative_humidity: 50 %}
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}      # 0 = straight cone, 1 = full bowl
  throat: {diameter: drill 27, length: 5 mm, entry: square}
  backbore: {end_diameter: 9.0 mm, taper: straight}
vary:
  throat.entry: [square, rounded 0.25 mm, rounded 0.5 mm, rounded 1 mm, rounded 2 mm]
resonance: {from: 50 Hz, to: 5000 Hz, behind: anechoic pipe}
flow: {rates: "[0.05, 0.1, 0.2, 0.3] L/s", inlet: uniform}
"""

STATIONS = "position_mm,diameter_mm\n0,16.2\n10.8,3.66\n15.8,3.66\n88,9.0\n"


@pytest.fixture
def example_text() -> str:
    """A study file that has no mistake."""
    return EXAMPLE


@pytest.fixture
def mapping() -> dict[str, Any]:
    """The same study as a mapping, to be changed."""
    return copy.deepcopy(yaml.safe_load(EXAMPLE))


@pytest.fixture
def make(mapping: dict[str, Any], tmp_path: Path) -> Callable[..., Study]:
    """The example with some keys changed, ``make({"bore/cup/depth": "9 mm"})``; None removes."""
    for name in ("stations.csv", "other.csv"):
        (tmp_path / name).write_text(STATIONS)

    def changed(changes: dict[str, Any]) -> Study:
        for key, value in changes.items():
            *above, last = key.split("/")
            section = mapping
            for step in above:
                section = section[step]
            if value is None:
                del section[last]
            else:
                section[last] = value
        return study_from_mapping(mapping, tmp_path)

    return changed


@pytest.fixture
def refusal(make: Callable[..., Study]) -> Callable[[dict[str, Any]], str]:
    """What the author is told of a changed example that is refused."""

    def told(changes: dict[str, Any]) -> str:
        with pytest.raises(StudyError) as caught:
            make(changes)
        return str(caught.value)

    return told
