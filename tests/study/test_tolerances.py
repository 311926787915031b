"""A bore with one dimension in error is built as the study would build it."""

import numpy as np
import pytest

from borestudy.bore import ALL_DIAMETERS, tolerances_of
from borestudy.study import study_from_mapping
from borestudy.study.tolerances import bore_in_error

MM = 1e-3
BORE = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "3.66 mm", "length": "5 mm", "entry": "rounded 0.5 mm"},
    "backbore": {"end_diameter": "9 mm"},
}


def errors_of(case):
    return {one.key: one for one in tolerances_of(case.dimensions(), 25.4e-6)}


@pytest.mark.parametrize(
    ("key", "section", "text"),
    [
        ("throat.diameter", {"throat": BORE["throat"] | {"diameter": "3.76 mm"}}, 0.1 * MM),
        ("throat.entry.radius", {"throat": BORE["throat"] | {"entry": "rounded 0.6 mm"}}, 0.1 * MM),
        ("cup.shape", {"cup": BORE["cup"] | {"shape": 0.65}}, 0.05),
        ("length", {"length": "87.5 mm"}, -0.5 * MM),
    ],
)
def test_a_dimension_in_error_is_that_of_another_study(key, section, text):
    drawn, other = (
        study_from_mapping({"bore": BORE | changes}, name="one").cases()[0]
        for changes in ({}, section)
    )
    found, dimensions = bore_in_error(drawn, errors_of(drawn)[key], text)
    for one, its in zip(found.segments, other.build_bore().segments, strict=True):
        np.testing.assert_allclose(one.points, its.points, atol=1e-12)
    values = {one.key: one.value for one in dimensions}
    expected = {one.key: one.value for one in other.dimensions()}
    assert values == pytest.approx(expected)


def test_all_diameters_in_error_widen_every_station(tmp_path):
    (tmp_path / "bore.csv").write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    case = study_from_mapping({"bore": {"stations": "bore.csv"}}, tmp_path, "measured").cases()[0]
    wider, dimensions = bore_in_error(case, errors_of(case)[ALL_DIAMETERS], 0.1 * MM)
    assert wider.rim_radius == pytest.approx(8.05 * MM)
    assert wider.shank_radius == pytest.approx(4.55 * MM)
    assert [one.value for one in dimensions[:2]] == pytest.approx([8.05 * MM, 2.05 * MM])


def test_an_error_that_leaves_no_bore_is_refused():
    case = study_from_mapping({"bore": BORE}, name="one").cases()[0]
    with pytest.raises(ValueError, match="found 8 mm"):
        bore_in_error(case, errors_of(case)["length"], -80 * MM)
