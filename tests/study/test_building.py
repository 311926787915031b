"""Bores from the study's texts, and geometry's refusals in the study's words."""

import numpy as np
import pytest

from borestudy.study import StudyError
from borestudy.units import parse_length


def test_a_bore_has_the_dimensions_of_its_study(make):
    bore = make({}).cases()[0].build_bore()
    assert bore.length == pytest.approx(0.088, rel=1e-12)
    assert 2 * bore.rim_radius == pytest.approx(0.0162, rel=1e-12)
    assert 2 * bore.throat_radius == pytest.approx(0.144 * 0.0254, rel=1e-12)
    assert bore.throat_end - bore.throat_start == pytest.approx(0.005, rel=1e-9)
    assert 2 * bore.shank_radius == pytest.approx(0.009, rel=1e-12)


def test_every_unit_of_a_length_makes_the_same_bore(make):
    metric = make({"vary": None, "bore/length": "88.9 mm"}).cases()[0].build_bore()
    inches = make({"bore/length": "3.5 in"}).cases()[0].build_bore()
    assert metric.volume() == inches.volume()


def test_a_straight_backbore_is_a_frustum(make):
    bore = make({}).cases()[0].build_bore()
    length, throat, end = bore.length - bore.throat_end, bore.throat_radius, bore.shank_radius
    volume = np.pi * length / 3 * (throat**2 + throat * end + end**2)
    assert bore.volume("backbore") == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("word", "number"), [("straight", 0), ("opening early", "0.5"), ("opening late", -0.5)]
)
def test_a_word_for_the_taper_and_its_number_make_the_same_bore(make, word, number):
    study = make({"vary": {}, "bore/backbore/taper": word})
    named = study.cases()[0].build_bore().segments[-1]
    numbered = make({"bore/backbore/taper": number}).cases()[0].build_bore().segments[-1]
    np.testing.assert_array_equal(named.points, numbered.points)
    np.testing.assert_array_equal(named.weights, numbered.weights)


def test_a_taper_between_two_words_holds_a_volume_between_theirs(make):
    study = make({"vary": {"backbore.taper": "-0.5, -0.2, 0, 0.2, 0.5"}})
    volumes = [case.build_bore().volume("backbore") for case in study.cases()]
    assert volumes == sorted(volumes)
    assert len(set(volumes)) == 5


def test_a_backbore_given_by_stations_goes_through_them(make):
    taper = [
        {"position": "20 mm", "diameter": "5.5 mm"},
        {"position": "1.6 in", "diameter": "7 mm"},
    ]
    bore = make({"bore/backbore/taper": taper}).cases()[0].build_bore()
    positions = bore.throat_end + np.array([0.02, 1.6 * 0.0254])
    np.testing.assert_allclose(2 * bore.radius(positions), [0.0055, 0.007], rtol=1e-9)


def test_a_measured_bore_goes_through_its_stations(make):
    study = make({"bore": {"stations": "stations.csv"}, "vary": {"join": ["straight", "smooth"]}})
    for case in study.cases():
        bore = case.build_bore()
        np.testing.assert_allclose(
            2e3 * bore.radius(np.array([0.0, 0.0158, 0.088])), [16.2, 3.66, 9.0], rtol=1e-9
        )


@pytest.mark.parametrize(
    ("changes", "case", "key"),
    [
        ({"bore/throat/entry": "rounded 25 mm"}, "base", "bore.throat.entry"),
        ({"bore/cup/depth": "90 mm"}, "base", "bore.cup.depth"),
        ({"bore/throat/diameter": "17 mm"}, "base", "bore.throat.diameter"),
        ({"bore/backbore/end_diameter": "2 mm"}, "base", "bore.backbore.end_diameter"),
        ({"bore/length": "88 in"}, "base", "bore.length"),
        ({"bore/cup/diameter": "16.2 in"}, "base", "bore.cup.diameter"),
        ({"vary": {"throat.entry": ["square", "rounded 20 mm"]}}, "entry_radius-20.00mm",
         "bore.throat.entry"),
        ({"bore/backbore/taper": [{"position": "90 mm", "diameter": "5 mm"}]}, "base",
         "bore.backbore.taper"),
        ({"bore": {"stations": "wrong.csv"}}, "base", "bore.stations"),
    ],
    ids=["entry radius", "cup too deep", "throat too wide", "backbore too narrow", "length in inch",
         "cup in inch", "varied entry", "taper beyond the shank", "stations in inch"],
)  # fmt: skip
def test_an_impossible_bore_is_refused_in_the_studys_words(make, tmp_path, changes, case, key):
    (tmp_path / "wrong.csv").write_text("position_in,diameter_in\n0,16.2\n15,3.66\n88,9.0\n")
    study = make({"vary": None} | changes)
    with pytest.raises(StudyError) as caught:
        study.case(case).build_bore()
    message = str(caught.value)
    assert message.startswith(f"case {case}: {key}")
    assert "found" in message
    assert "allowed" in message
    assert "for example" in message
    assert "\n" not in message


def test_stations_that_go_back_are_refused_with_their_line(make, tmp_path):
    (tmp_path / "back.csv").write_text("position_mm,diameter_mm\n0,16.2\n15,3.66\n12,3.7\n88,9\n")
    study = make({"bore": {"stations": "back.csv"}, "vary": None})
    with pytest.raises(StudyError, match=r"^case base: bore\.stations: back\.csv, line 4: found"):
        study.cases()[0].build_bore()


def test_a_slip_among_the_stations_is_refused_unless_the_study_keeps_it(make, tmp_path):
    rows = ["0,16.2", "5,10", "10,3.66", "15,3.66", "30,4.8", "45,8.9", "60,7", "88,9"]
    (tmp_path / "slip.csv").write_text("\n".join(["position_mm,diameter_mm", *rows]))
    told = r"bore\.stations: slip\.csv, line 7: found a diameter of 8\.9 mm .*'outliers: keep'"
    with pytest.raises(StudyError, match=told):
        make({"bore": {"stations": "slip.csv"}, "vary": None}).cases()[0].build_bore()
    bore = {"stations": "slip.csv", "outliers": "keep"}
    kept = make({"bore": bore}).cases()[0].build_bore()
    assert float(kept.radius(0.045)) == pytest.approx(0.00445)


def test_lengths_reach_the_bore_to_the_last_digit(make):
    case = make({}).cases()[0]
    assert case.build_bore().rim_radius * 2 == parse_length(case.bore.cup.diameter)
