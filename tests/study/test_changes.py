"""Changes to a measured bore in a study: their names, words, columns, and what is refused."""

import re

import pytest

import borestudy as bs
from borestudy.study import StudyError, study_from_mapping

STATIONS = "position_mm,diameter_mm\n0,16.2\n10.8,3.66\n15.8,3.66\n88,9.0\n"


@pytest.fixture
def measured(tmp_path):
    (tmp_path / "stations.csv").write_text(STATIONS)

    def study(vary=None, **bore):
        mapping = {"bore": {"stations": "stations.csv", **bore}, "vary": vary or {}}
        return study_from_mapping(mapping, tmp_path, "measured")

    return study


def test_each_change_may_be_varied_beside_what_was_measured(measured):
    vary = {
        "length": ["as measured", "86 mm"], "cup.diameter": ["16.5 mm"], "cup.depth": ["11 mm"],
        "throat.diameter": ["as measured", "drill 24"], "throat.length": ["as measured", "4 mm"],
        "throat.entry": ["as  measured", "rounded 1 mm"], "backbore.end_diameter": ["9.5 mm"],
    }  # fmt: skip
    cases = measured(vary).cases()
    assert len(cases) == 16
    assert cases[0].name == (
        "length-as-measured__cup_diameter-16.50mm__cup_depth-11.00mm__throat_diameter-as-measured"
        "__throat_length-as-measured__entry-as-measured__backbore_end_diameter-9.50mm"
    )
    assert cases[-1].name == (
        "length-86.00mm__cup_diameter-16.50mm__cup_depth-11.00mm__throat_diameter-drill24"
        "__throat_length-4.00mm__entry_radius-1.00mm__backbore_end_diameter-9.50mm"
    )
    assert cases[0].varied_columns() == {
        "length_mm": 88.0, "cup_diameter_mm": 16.5, "cup_depth_mm": 11.0,
        "throat_diameter_mm": 3.66, "throat_length_mm": 5.0, "entry": "as measured",
        "entry_radius_mm": None, "backbore_end_diameter_mm": 9.5,
    }  # fmt: skip
    bore = cases[-1].build_bore()
    assert bore.length == pytest.approx(86e-3)
    assert 2 * bore.throat_radius == pytest.approx(0.152 * 25.4e-3)
    assert 2 * bore.rim_radius == pytest.approx(16.5e-3)
    assert 2 * bore.shank_radius == pytest.approx(9.5e-3)


def test_a_case_is_called_by_what_is_cut_from_it(measured):
    cases = measured({"throat.entry": ["as measured", "rounded 1 mm"]}).cases()
    assert [case.label for case in cases] == ["entry as measured", "rounded 1 mm"]


def test_a_bore_without_changes_is_the_measured_one(measured):
    plain = measured().cases()[0].build_bore()
    said = measured(throat={"entry": "as measured"}, length="as measured").cases()[0].build_bore()
    assert [one.points.tolist() for one in plain.segments] == [
        one.points.tolist() for one in said.segments
    ]


def test_a_changed_bores_sizes_are_dimensions_of_it(measured):
    plain = {one.key for one in measured().cases()[0].dimensions()}
    cut = measured(throat={"entry": "rounded 1 mm", "diameter": "drill 24"}).cases()[0].dimensions()
    found = {one.key: one.value for one in cut}
    assert found.keys() - plain == {"throat.diameter", "throat.entry.radius"}
    assert plain <= found.keys()
    assert found["throat.diameter"] == pytest.approx(0.152 * 25.4e-3)


@pytest.mark.parametrize(
    ("bore", "key", "words"),
    [
        ({"throat": {"diameter": "drill 30"}}, "bore.throat.diameter", "would add metal"),
        ({"throat": {"length": "9 mm"}}, "bore.throat.length", "would add metal"),
        ({"cup": {"diameter": "15 mm"}}, "bore.cup.diameter", "would add metal"),
        ({"cup": {"depth": "9 mm"}}, "bore.cup.depth", "would add metal"),
        ({"backbore": {"end_diameter": "8 mm"}}, "bore.backbore.end_diameter", "would add metal"),
        ({"length": "90 mm"}, "bore.length", "would add metal"),
    ],
)
def test_what_adds_metal_is_refused_by_key_unless_the_piece_is_new(measured, bore, key, words):
    with pytest.raises(StudyError) as refused:
        measured(**bore).cases()[0].build_bore()
    told = str(refused.value)
    assert told.startswith(f"case base: {key}: found ")
    assert words in told
    assert "'piece: new'" in told
    assert "for example" in told
    assert measured(**bore, piece="new").cases()[0].build_bore().length > 0.08


def test_a_text_that_is_no_change_is_told_of_what_was_measured(measured):
    with pytest.raises(StudyError, match=r"bore.length: found '86'.* or 'as measured'"):
        measured(length="86")
    with pytest.raises(StudyError, match=r"vary.throat.entry\[1\]: found 'smooth'.*'as measured'"):
        measured({"throat.entry": ["square", "smooth"]})
    with pytest.raises(StudyError, match=re.escape("vary.throat.entry: found 'as measured' and")):
        measured({"throat.entry": ["as measured", "as measured"]})
    with pytest.raises(StudyError, match=r"bore.piece: found 'old'; allowed is 'existing' or 'new'"
                       r"|bore.piece: found 'old'; allowed is existing or new"):  # fmt: skip
        measured(piece="old")


def test_the_front_door_cuts_a_measured_bore(tmp_path):
    path = tmp_path / "stations.csv"
    path.write_text(STATIONS)
    plain = bs.Bore.from_stations(path)
    cut = bs.Bore.from_stations(path, throat={"entry": "rounded 1 mm"}, length="86 mm")
    assert cut.length == pytest.approx(86e-3)
    assert cut.volume("cup") + cut.volume("entry") > plain.volume("cup")
    assert "throat.entry.radius" in {one.key for one in cut.dimensions}
    with pytest.raises(ValueError, match="would add metal"):
        bs.Bore.from_stations(path, throat={"diameter": "drill 30"})
