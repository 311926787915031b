"""The drawing for the workshop: exact curves, true dimensions, and nothing outside the sheet."""

import re

import ezdxf
import numpy as np
import pytest
from ezdxf import bbox

from borestudy.bore import bore_from_dimensions, cylinder
from borestudy.bore.entry import parse_entry
from borestudy.workshop.files import write_sheet
from borestudy.workshop.sheet import SHEET, Title, Toleranced, draw

SIZES = {
    "length": 0.088,
    "cup_diameter": 0.0162,
    "cup_depth": 0.0108,
    "cup_shape": 0.6,
    "throat_diameter": 3.6576e-3,
    "throat_length": 0.005,
    "backbore_end_diameter": 0.009,
    "backbore_taper": "opening early",
}
TITLE = Title("invented", "rounded 1 mm", "rounded 1 mm", "0.001 in")
DIMENSIONS = [
    Toleranced("overall length", 88.0, 0.05),
    Toleranced("cup depth", 10.8, 0.0254),
    Toleranced("throat length", 5.0, 0.0254),
    Toleranced("throat diameter", 3.6576, 0.0127, remark="nearest drill 27"),
    Toleranced("cup shape", 0.6, 0.006, ""),
]


@pytest.fixture(scope="module")
def bore():
    return bore_from_dimensions(**SIZES, entry=parse_entry("rounded 1 mm"))


@pytest.fixture(scope="module")
def read_back(bore, tmp_path_factory):
    path = tmp_path_factory.mktemp("drawing") / "bore.dxf"
    write_sheet(draw(bore, DIMENSIONS, TITLE), path)
    return ezdxf.readfile(path)


def of_layer(document, layer, kind="*"):
    return [one for one in document.modelspace().query(kind) if one.dxf.layer == layer]


def points_of(entity):
    """Points along an entity as another program draws it, by ezdxf's own evaluation."""
    if entity.dxftype() == "LINE":
        ends = np.array([tuple(entity.dxf.start), tuple(entity.dxf.end)])
        return np.linspace(*ends, 21)[:, :2]
    curve = entity.construction_tool()
    return np.array([(one.x, one.y) for one in curve.points(np.linspace(0, curve.max_t, 21))])


def test_the_wall_read_back_from_dxf_is_the_bores_own(read_back, bore):
    wall = [one for one in of_layer(read_back, "BORE") if one.dxftype() == "SPLINE"]
    lines = [one for one in of_layer(read_back, "BORE", "LINE") if one.dxf.start.x != one.dxf.end.x]
    assert len(wall) + len(lines) == len(bore.segments)
    for one in [*wall, *lines]:
        x, r = points_of(one).T
        inside = (x > 1e-9) & (x < 88 - 1e-9)
        # rounding of x near steep walls is the only error of a rational curve evaluated twice
        np.testing.assert_allclose(r[inside], 1e3 * bore.radius(1e-3 * x[inside]), rtol=1e-9)


def test_a_quarter_ellipse_is_a_rational_curve_of_its_weight(read_back):
    curves = [one for one in of_layer(read_back, "BORE") if one.dxftype() == "SPLINE"]
    assert any(np.isclose(one.weights[1], np.sqrt(0.5)) for one in curves)
    assert all(one.dxf.degree == 2 for one in curves)


def test_both_sides_of_the_axis_are_drawn_and_one_is_hidden(read_back):
    hidden = of_layer(read_back, "HIDDEN")
    assert hidden
    assert max(points_of(one)[:, 1].max() for one in hidden) < 0
    assert read_back.layers.get("HIDDEN").dxf.linetype == "DASHED"
    assert of_layer(read_back, "METAL", "HATCH")


def test_units_are_millimetres(read_back):
    assert read_back.units == ezdxf.units.MM


def measured(document):
    """What each dimension measures in the drawing, with the words written at it."""
    return {
        round(one.get_measurement(), 6): one.override().get("dimpost", "")
        for one in of_layer(document, "DIMENSIONS", "DIMENSION")
    }


def test_dimensions_measure_what_the_bore_has_with_its_tolerances(read_back):
    found = measured(read_back)
    assert sorted(found) == [5.0, 9.0, 10.8, 16.2, 88.0]
    assert found[88.0] == "<> ± 0.05"
    assert found[10.8] == "<> ± 0.025"
    assert found[9.0] == "dia <>"


def texts(document):
    return [one.dxf.text for one in document.modelspace().query("TEXT")]


def test_the_throat_and_the_table_say_millimetres_and_inches(read_back):
    words = texts(read_back)
    assert "throat dia 3.658 ± 0.013" in words
    row = words.index("throat diameter")
    assert words[row + 1 : row + 4] == ["3.658 ± 0.013", "0.1440 ± 0.0005", "nearest drill 27"]
    row = words.index("cup shape")
    assert words[row + 1] == "0.6 ± 0.006"


def test_places_for_a_template_lie_on_the_wall(read_back, bore):
    words = texts(read_back)
    first = words.index("diameter, mm") + 1
    pairs = []
    while re.fullmatch(r"\d+\.\d{3}", words[first]):
        pairs.append((float(words[first]), float(words[first + 1])))
        first += 2
    assert len(pairs) >= 12
    for x, diameter in pairs:
        assert diameter == pytest.approx(2e3 * float(bore.radius(1e-3 * x)), abs=0.0025)


@pytest.mark.parametrize(
    "made",
    [
        pytest.param(lambda: cylinder(4e-3, 0.02), id="a short pipe"),
        pytest.param(lambda: cylinder(9e-3, 0.3), id="a long pipe"),
        pytest.param(
            lambda: bore_from_dimensions(**SIZES, entry=parse_entry("square")), id="a square entry"
        ),
    ],
)
def test_nothing_lies_outside_the_sheet(made):
    sheet = draw(made(), DIMENSIONS, TITLE)
    box = bbox.extents(sheet.document.modelspace())
    left, bottom = sheet.corner
    assert box.extmin.x >= left
    assert box.extmin.y >= bottom
    assert box.extmax.x <= left + SHEET[0] / sheet.scale
    assert box.extmax.y <= bottom + SHEET[1] / sheet.scale


@pytest.mark.parametrize("kind", ["pdf", "svg"])
def test_the_same_drawing_is_the_same_bytes(bore, tmp_path, kind):
    for name in ("one", "two"):
        write_sheet(draw(bore, DIMENSIONS, TITLE), tmp_path / f"{name}.{kind}")
    first = (tmp_path / f"one.{kind}").read_bytes()
    assert first == (tmp_path / f"two.{kind}").read_bytes()
    if kind == "pdf":
        assert first.startswith(b"%PDF")
        assert len(re.findall(rb"/Type /Page\b", first)) == 1
