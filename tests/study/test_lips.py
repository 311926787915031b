"""The section on lips: what it gives, with which defaults, and how it is written out again."""

import pytest
import yaml

from borestudy.playing.lips import RANGES, Lips
from borestudy.stages.meaning import meaning_of
from borestudy.study import study_from_mapping

COLUMN = "position_mm,diameter_mm\n0,9\n1300,120\n"


def test_a_study_without_the_section_has_no_lips(make):
    assert make({}).lips is None


def test_an_empty_section_is_the_default_lips_which_are_invented(make):
    lips = make({"lips": {}}).lips
    assert lips.own() == Lips(2.0, 7.0, 8e-3, 0.5e-3)
    assert set(lips.sources.model_dump().values()) == {"invented"}
    assert (lips.register, lips.soft, lips.loud) == (4, 1.2, 2.5)
    assert len(lips.others()) == 50


def test_every_key_goes_where_its_name_says(make):
    section = {
        "mass_per_area": "0.9 g/cm2", "quality_factor": "5", "width": "12 mm", "opening": "0.4 mm",
        "sources": {"opening": "measured"}, "set": 20, "register": 3, "soft": 1.3, "loud": 2,
    }  # fmt: skip
    lips = make({"lips": section}).lips
    assert lips.own() == Lips(
        mass_per_area=9.0, quality_factor=5.0, width=12e-3, opening_at_rest=0.4e-3
    )
    assert (lips.register, lips.soft, lips.loud, len(lips.others())) == (3, 1.3, 2.0, 20)
    assert lips.sources.opening == "measured"
    assert lips.sources.width == "invented"


def test_a_smaller_set_is_the_beginning_of_a_larger_one(make, mapping, tmp_path):
    many = make({"lips": {"set": 60}}).lips.others()
    few = study_from_mapping(mapping | {"lips": {"set": 10}}, tmp_path).lips.others()
    assert many[:10] == few


def test_the_resolved_study_has_every_default_and_is_read_as_the_same(make, tmp_path):
    study = make({"lips": {"width": "9 mm", "register": 2}})
    path = tmp_path / "resolved.yaml"
    study.write_resolved(path)
    written = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert written["lips"] == {
        "mass_per_area": "2 kg/m²", "quality_factor": 7.0, "width": "9 mm", "opening": "0.5 mm",
        "sources": dict.fromkeys(("mass_per_area", "quality_factor", "width", "opening"),
                                 "invented"),
        "set": 50, "register": 2, "soft": 1.2, "loud": 2.5,
    }  # fmt: skip
    again = study_from_mapping(written, tmp_path)
    assert again.lips.own() == study.lips.own()
    assert again.resolved() == study.resolved(tmp_path)


def test_the_lips_are_stated_with_their_sources_and_beside_the_set(make):
    section = {"quality_factor": 5, "width": "12 mm", "sources": {"width": "measured"}}
    rows = make({"lips": section}).lips.stated()
    assert [list(row.values())[:4] for row in rows] == [
        ["mass per area", "2 kg/m²", "invented", "1.8 to 9 kg/m²"],
        ["Q", "5", "invented", "3 to 10"],
        ["width of the opening", "12 mm", "measured", "7 to 12 mm"],
        ["opening at rest", "0.5 mm", "invented", "0.1 to 0.5 mm"],
    ]
    assert [row["its_source"] for row in rows] == [one.source for one in RANGES]


def test_lips_name_no_cases(make, mapping, tmp_path):
    names = [case.name for case in make({}).cases()]
    with_lips = study_from_mapping(mapping | {"lips": {}}, tmp_path)
    assert [case.name for case in with_lips.cases()] == names


def about_lips(study):
    return [line for line in meaning_of(study).lines() if "lips" in line]


@pytest.mark.parametrize(
    ("behind", "words"),
    [
        ("anechoic pipe", "(anechoic pipe): the lips start a tone of the mouthpiece on its own "
                          "pipe, and not of an instrument"),
        ("closed", "(closed): the lips start a tone of the mouthpiece on its own, and not"),
    ],
)  # fmt: skip
def test_check_says_the_lips_and_that_there_is_no_instrument(make, behind, words):
    study = make({"lips": {"sources": {"width": "measured"}}, "resonance/behind": behind})
    lips, caution = about_lips(study)
    assert lips == (
        "lips: mass per area 2 kg/m² (invented), Q 7 (invented), width 8 mm (measured), opening at "
        "rest 0.5 mm (invented); compared with 50 others; tone in register 4 at 1.2 and 2.5 times "
        "the threshold, whose harmonics meet the bore as it is computed up to 5000 Hz "
        "(resonance.to)"
    )
    assert caution.startswith("caution: no air column behind the shank")
    assert words in caution


def test_check_has_no_caution_where_there_is_an_air_column(make, tmp_path):
    (tmp_path / "column.csv").write_text(COLUMN)
    study = make({"lips": {}, "resonance/behind": {"air column": "column.csv"}})
    (lips,) = about_lips(study)
    assert lips.startswith("lips: ")


def test_check_of_a_study_without_lips_says_nothing_of_them(make):
    assert about_lips(make({})) == []
