"""Volumes and shapes of bores from dimensions, against closed forms."""

from collections.abc import Callable

import numpy as np
import pytest

from borestudy.bore import Bore, BoreError, Entry

Make = Callable[..., Bore]
CUP_RADIUS, THROAT_RADIUS, END_RADIUS = 8e-3, 2e-3, 4.5e-3
DEPTH, THROAT_LENGTH, LENGTH = 11e-3, 5e-3, 88e-3


def frustum(first: float, last: float, length: float) -> float:
    return np.pi * length * (first**2 + first * last + last**2) / 3


def test_a_cup_of_shape_zero_holds_a_frustum(make: Make) -> None:
    volume = make(cup_shape=0).volume("cup")
    assert volume == pytest.approx(frustum(CUP_RADIUS, THROAT_RADIUS, DEPTH), rel=1e-12)


def test_a_full_bowl_is_a_quarter_ellipse_about_the_throats_edge(make: Make) -> None:
    rise = CUP_RADIUS - THROAT_RADIUS
    # r = r_t + rise sqrt(1 - (x/d)²), squared and integrated by hand
    exact = np.pi * DEPTH * (THROAT_RADIUS**2 + np.pi / 2 * THROAT_RADIUS * rise + rise**2 * 2 / 3)
    bore = make(cup_shape=1)
    assert bore.volume("cup") == pytest.approx(exact, rel=1e-11)
    x = np.linspace(0, 0.999, 20) * DEPTH
    expected = THROAT_RADIUS + rise * np.sqrt(1 - (x / DEPTH) ** 2)
    np.testing.assert_allclose(bore.radius(x), expected, rtol=1e-12)


def test_a_fuller_cup_holds_more_at_one_depth(make: Make) -> None:
    volumes = [make(cup_shape=shape).volume("cup") for shape in np.linspace(0, 1, 9)]
    assert (np.diff(volumes) > 0).all()
    # continuous between: no jump from the straight cone to the least curved cup
    assert make(cup_shape=1e-6).volume("cup") == pytest.approx(volumes[0], rel=1e-5)


def test_throat_and_straight_backbore_hold_a_cylinder_and_a_frustum(make: Make) -> None:
    bore = make()
    assert bore.volume("throat") == pytest.approx(np.pi * THROAT_RADIUS**2 * THROAT_LENGTH)
    backbore = LENGTH - DEPTH - THROAT_LENGTH
    exact = frustum(THROAT_RADIUS, END_RADIUS, backbore)
    assert bore.volume("backbore") == pytest.approx(exact, rel=1e-12)


def test_parts_add_up_to_the_whole_and_to_a_sum_over_slices(make: Make) -> None:
    bore = make(Entry("rounded", (1e-3,)), backbore_taper="opening early")
    assert sum(map(bore.volume, bore.parts)) == pytest.approx(bore.volume(), rel=1e-13)
    x = (np.arange(2_000) + 0.5) * bore.length / 2_000
    slices = np.pi * np.sum(bore.radius(x) ** 2) * bore.length / 2_000
    assert slices == pytest.approx(bore.volume(), rel=1e-5)


def test_a_taper_that_opens_early_holds_more_than_one_that_opens_late(make: Make) -> None:
    tapers = ("opening early", "straight", "opening late")
    early, straight, late = (make(backbore_taper=t).volume("backbore") for t in tapers)
    assert early > straight > late


def test_a_taper_through_stations_passes_them(make: Make) -> None:
    stations = [(0.0, 4e-3), (10e-3, 5e-3), (40e-3, 8e-3)]
    bore = make(backbore_taper=stations)
    start = DEPTH + THROAT_LENGTH
    at = bore.radius([start + 10e-3, start + 40e-3, start + 25e-3, LENGTH])
    np.testing.assert_allclose(2 * at, [5e-3, 8e-3, 6.5e-3, 9e-3], rtol=1e-12)


@pytest.mark.parametrize("shape", [0.0, 0.3, 0.6, 1.0])
@pytest.mark.parametrize("radius", [0.1e-3, 0.5e-3, 2e-3])
def test_a_rounded_entry_is_a_circle_tangent_to_both_walls(
    make: Make, shape: float, radius: float
) -> None:
    bore = make(Entry("rounded", (radius,)), cup_shape=shape)
    (arc,) = [segment for segment in bore.segments if segment.part == "entry"]
    centre = arc.stop + np.array([0.0, radius])
    distances = np.linalg.norm(arc(np.linspace(0, 1, 41)) - centre, axis=1)
    np.testing.assert_allclose(distances, radius, rtol=1e-9)
    assert [place[0] for place, _ in bore.corners] == [pytest.approx(DEPTH + THROAT_LENGTH)]


def test_an_elliptical_entry_is_an_ellipse_tangent_to_both_walls(make: Make) -> None:
    along, across = 2e-3, 1e-3
    bore = make(Entry("elliptical", (along, across)))
    (arc,) = [segment for segment in bore.segments if segment.part == "entry"]
    offset = (arc(np.linspace(0, 1, 41)) - arc.stop - [0.0, across]) / [along, across]
    np.testing.assert_allclose(np.linalg.norm(offset, axis=1), 1.0, rtol=1e-9)
    assert len(bore.corners) == 1  # only the one between throat and backbore


def test_an_entry_leaves_the_other_ordinates_alone(make: Make) -> None:
    square, rounded = make(), make(Entry("rounded", (1e-3,)))
    x = np.concatenate([np.linspace(0, 0.9 * DEPTH, 9), np.linspace(DEPTH + 2e-3, LENGTH, 9)])
    np.testing.assert_allclose(rounded.radius(x), square.radius(x), rtol=1e-12)
    assert rounded.throat_end == square.throat_end
    assert rounded.volume() > square.volume()


def test_a_chamfer_has_its_length_and_its_angle(make: Make) -> None:
    length, angle = 0.8e-3, np.radians(30)
    bore = make(Entry("chamfered", (length,), angle))
    (face,) = [segment for segment in bore.segments if segment.part == "entry"]
    run, rise = face.stop - face.start
    assert run == pytest.approx(length)
    assert -rise / run == pytest.approx(np.tan(angle))
    assert face.start[1] == pytest.approx(float(bore.radius(face.start[0])))


def test_the_square_edge_turns_by_the_cups_angle(make: Make) -> None:
    place, turn = make(cup_shape=0).corners[0]
    np.testing.assert_allclose(place, [DEPTH, THROAT_RADIUS])
    assert turn == pytest.approx(np.arctan2(CUP_RADIUS - THROAT_RADIUS, DEPTH))
    assert make(cup_shape=1).corners[0][1] == pytest.approx(np.pi / 2)


def test_a_pipe_behind_the_shank_is_as_wide_as_it(make: Make) -> None:
    bore: Bore = make().extended(20e-3)
    assert bore.length == pytest.approx(LENGTH + 20e-3)
    assert bore.volume("pipe") == pytest.approx(np.pi * END_RADIUS**2 * 20e-3)


@pytest.mark.parametrize(
    ("changed", "entry", "key", "words"),
    [
        ({"cup_depth": 90.0}, None, "cup.depth", "found 90 mm in a bore of 88 mm"),
        ({"cup_depth": -1.0}, None, "cup.depth", "found -1 mm"),
        ({"throat_length": 78.0}, None, "throat.length", "less than 77 mm"),
        ({"throat_diameter": 17.0}, None, "throat.diameter", "in a cup of 16 mm"),
        ({"backbore_end_diameter": 3.0}, None, "backbore.end_diameter", "after a throat of 4 mm"),
        ({"length": 3.5}, None, "length", "is it in another unit?"),
        ({"cup_diameter": 16000.0}, None, "cup.diameter", "is it in another unit?"),
        ({"cup_shape": 1.2}, None, "cup.shape", "found 1.2"),
        ({}, Entry("rounded", (12e-3,)), "throat.entry", "allowed is at most rounded"),
        ({"cup_shape": 0.2}, Entry("rounded", (60e-3,)), "throat.entry", "for example"),
        ({}, Entry("elliptical", (30e-3, 1e-3)), "throat.entry", "allowed is at most elliptical"),
        ({}, Entry("chamfered", (7e-3,), np.pi / 4), "throat.entry", "allowed is less than 6 mm"),
        ({"cup_shape": 0}, Entry("chamfered", (1e-3,), 1.2), "throat.entry", "cut no metal"),
        (
            {"backbore_taper": [(10e-3, 5e-3), (5e-3, 6e-3)]},
            None,
            "backbore.taper[1].position",
            "found 5 mm after 10 mm",
        ),
        ({"backbore_taper": [(10e-3, 3e-3)]}, None, "backbore.taper[0].diameter", "found 3 mm"),
        ({"backbore_taper": [(99e-3, 5e-3)]}, None, "backbore.taper[0].position", "found 99 mm"),
        ({"backbore_taper": [(0.0, 5e-3)]}, None, "backbore.taper[0].diameter", "at the throat"),
    ],
)
def test_dimensions_that_make_no_bore_are_refused_with_their_key(
    make: Make, changed: dict, entry: Entry | None, key: str, words: str
) -> None:
    with pytest.raises(BoreError) as refused:
        make(entry, **changed)
    message = str(refused.value)
    assert refused.value.key == key
    assert words in message
    assert message.startswith("found")
    assert "allowed" in message
    assert "for example" in message


def test_the_greatest_radius_a_refusal_names_does_fit(make: Make) -> None:
    with pytest.raises(BoreError) as refused:
        make(Entry("rounded", (20e-3,)))
    words = str(refused.value).split("at most rounded ")[1]
    greatest = 1e-3 * float(words.split(" mm")[0])
    make(Entry("rounded", (greatest,)))
    with pytest.raises(BoreError):
        make(Entry("rounded", (greatest + 0.02e-3,)))


def test_the_halves_of_a_cut_bore_hold_what_it_holds(make: Make) -> None:
    bore = make(Entry("rounded", (1e-3,)))
    for position in (5e-3, 13.3e-3, DEPTH + THROAT_LENGTH, 60e-3):
        front, back = bore.cut(position)
        assert front.length == pytest.approx(position)
        assert back.length == pytest.approx(LENGTH - position)
        assert front.shank_radius == pytest.approx(back.rim_radius)
        assert front.volume() + back.volume() == pytest.approx(bore.volume(), rel=1e-12)
    with pytest.raises(ValueError, match="allowed is inside"):
        bore.cut(LENGTH)
