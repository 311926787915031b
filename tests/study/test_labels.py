"""What a case is called for a reader: what is varied, in words and with its unit."""

from pathlib import Path

import pytest

from borestudy.study import load_study
from borestudy.study.naming import label

CONFIGS = Path(__file__).parents[2] / "configs"


@pytest.mark.parametrize(
    ("varied", "words"),
    [
        ({}, "the bore"),
        ({"throat.entry": "rounded 0.5 mm"}, "rounded 0.5 mm"),
        ({"throat.diameter": "drill 27"}, "throat drill 27"),
        ({"throat.diameter": "3.66 mm"}, "throat 3.66 mm wide"),
        ({"throat.length": "0.2 in"}, "throat 0.2 in long"),
        ({"length": "88 mm", "cup.depth": "10.70 mm"}, "length 88 mm, cup 10.70 mm deep"),
        ({"cup.diameter": "16.2 mm"}, "rim 16.2 mm wide"),
        ({"cup.shape": "1.0"}, "cup full bowl"),
        ({"cup.shape": "0"}, "cup straight cone"),
        ({"cup.shape": "0.25"}, "cup 25 % bowl"),
        ({"backbore.taper": "opening early"}, "backbore taper opening early"),
        ({"backbore.end_diameter": "9 mm"}, "backbore 9 mm wide at its end"),
        ({"air.temperature": "25 degC"}, "air at 25 degC"),
        ({"stations": "before.csv"}, "before"),
        ({"join": "smooth"}, "stations joined smoothly"),
        ({"throat.diameter": "as measured"}, "throat diameter as measured"),
    ],
)
def test_a_case_is_called_by_what_is_varied(varied: dict[str, str], words: str) -> None:
    assert label(varied) == words


@pytest.mark.parametrize("path", sorted(CONFIGS.glob("*.yaml")), ids=lambda path: path.stem)
def test_no_two_cases_of_a_study_are_called_alike(path: Path) -> None:
    labels = [case.label for case in load_study(path).cases()]
    assert len(labels) == len(set(labels))
