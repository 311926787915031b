"""Noise and slips in the readings of a measured bore."""

import numpy as np
import pytest

from borestudy.bore import BoreError, Reading, bore_from_stations, measure
from borestudy.bore.readings import find_doubts

READING = 0.0254  # mm: 0.001 in, to which a caliper is read
#: A throat of 3.66 mm from 11 to 16 mm between a conical cup and a conical backbore.
CORNERS = np.array([(0, 16.2), (11, 3.66), (16, 3.66), (88, 9.0)])


def stations_every(spacing):
    positions = np.arange(0, 88 + 1e-9, spacing)
    return positions, np.interp(positions, *CORNERS.T)


def write(path, positions, diameters):
    rows = [f"{x:.6f},{d:.6f}" for x, d in zip(positions, diameters, strict=True)]
    path.write_text("\n".join(["position_mm,diameter_mm", *rows]) + "\n")
    return path


def doubtful_stations(path):
    found = measure(path, Reading(outliers="keep"))
    return [one.told(found.name) for one in found.findings
            if one.kind in ("outlier", "doubtful station")]  # fmt: skip


def noise(seed, count, kind):
    """Up to 0.001 in either way: of any size, or whole digits of a caliper that shows 0.001 in."""
    random = np.random.default_rng(seed)
    shape = random.uniform(-1, 1, count) if kind == "any" else random.integers(-1, 2, count)
    return READING * shape


@pytest.mark.parametrize("kind", ["any", "digits"])
@pytest.mark.parametrize("join", ["straight", "smooth"])
@pytest.mark.parametrize("spacing", [0.5, 1.0, 2.0])
def test_noise_of_the_readings_moves_the_throats_ends_by_one_station(tmp_path, spacing, join, kind):
    positions, diameters = stations_every(spacing)
    # Over this length the backbore opens by no more than two readings may differ.
    unseen = 2 * READING / (5.34 / 72)
    for seed in range(50):
        noisy = diameters + noise(seed, len(positions), kind)
        bore = bore_from_stations(write(tmp_path / "bore.csv", positions, noisy), join)
        start, end = 1e3 * np.array(bore.part_ranges["throat"])
        assert abs(start - 11) <= spacing
        assert 16 - spacing <= end <= 16 + max(spacing, unseen)


def test_a_drawn_throat_has_the_ends_it_is_drawn_with(tmp_path):
    bore = bore_from_stations(write(tmp_path / "bore.csv", *CORNERS.T))
    assert bore.part_ranges["throat"] == pytest.approx((0.011, 0.016), rel=1e-12)


def test_a_step_ends_the_throat_however_low_it_is(tmp_path):
    positions, diameters = [0, 11, 16, 16, 20, 88], [16.2, 3.66, 3.66, 3.67, 3.67, 9]
    path = write(tmp_path / "bore.csv", positions, diameters)
    # Two readings of 0.001 in differ by more: the study or a better gauge says that it is one.
    for reading in (Reading(same_position="step"), Reading(uncertainty=2e-6)):
        bore = bore_from_stations(path, reading=reading)
        assert bore.part_ranges["throat"] == pytest.approx((0.011, 0.016), rel=1e-12)


SLIPS = {
    "0.590 in the cup written as 0.690": (2.0, 17.526),
    "a waist in the backbore": (40.0, 5.0),
    "a ring in the throat": (13.0, 6.36),
    "a notch in the throat": (13.0, 3.06),
}


@pytest.mark.parametrize(("where", "reads"), SLIPS.values(), ids=SLIPS)
@pytest.mark.parametrize("join", ["straight", "smooth"])
def test_a_slip_is_refused_with_its_line_and_what_its_neighbours_suggest(
    tmp_path, join, where, reads
):
    positions, diameters = stations_every(1.0)
    row = int(where)
    true, diameters[row] = diameters[row], reads
    path = write(tmp_path / "bore.csv", positions, diameters)
    with pytest.raises(BoreError) as refused:
        bore_from_stations(path, join)
    message = str(refused.value)
    assert message.startswith(f"bore.csv, line {row + 2}: found a diameter of {reads:g} mm")
    assert f"suggest {true:.4g} mm" in message
    assert "'outliers: keep'" in message
    kept = bore_from_stations(path, join, outliers="keep")
    assert float(kept.radius(1e-3 * where)) == pytest.approx(reads / 2e3, rel=1e-12)
    # Kept is not forgotten.
    (told,) = doubtful_stations(path)
    assert told.startswith(f"bore.csv, line {row + 2}: found a diameter of {reads:g} mm")


def test_a_small_slip_is_doubted_and_taken(tmp_path):
    positions, diameters = stations_every(1.0)
    diameters[50] += 0.15
    path = write(tmp_path / "bore.csv", positions, diameters)
    assert float(bore_from_stations(path).radius(0.050)) == pytest.approx(diameters[50] / 2e3)
    (told,) = doubtful_stations(path)
    assert told.startswith("bore.csv, line 52:")


@pytest.mark.parametrize("spacing", [0.25, 1.0, 2.0])
def test_noise_of_the_readings_is_no_slip(spacing):
    positions, diameters = stations_every(spacing)
    for seed in range(50):
        noisy = diameters + noise(seed, len(positions), "any")
        assert not find_doubts(1e-3 * np.column_stack([positions, noisy]))


SHAPES = {
    "bowl": [(0, 16), (3, 15.7), (6, 14.6), (8, 12.6), (10, 6), (11, 4), (16, 4), (40, 6), (88, 9)],
    "bowl of few stations": [(0, 16), (6, 15), (10, 5), (14, 4), (18, 4), (50, 8), (88, 9)],
    "waist of one station": [(0, 16), (11, 4), (40, 6), (88, 9)],
    "double cone": [(0, 16), (5, 10), (10, 4), (40, 6), (70, 8)],
    "step": [(0, 16), (10, 4), (16, 4), (16, 5), (40, 6), (84, 8.9), (84, 9.1), (88, 9.2)],
    "flared rim": [(0, 17.5), (0.5, 16.3), (1.5, 16.1), (5, 14), (11, 4), (16, 4), (88, 9)],
    "double cup": [
        (0, 16),
        (3, 13),
        (5, 12),
        (6, 11.6),
        (7, 11.6),
        (8, 12),
        (9, 12.2),
        (10, 12.1),
        (12, 10.5),
        (14, 7),
        (15, 4),
        (20, 4),
        (50, 6),
        (88, 9),
    ],
}


@pytest.mark.parametrize("stations", SHAPES.values(), ids=SHAPES)
def test_corners_curves_and_steps_are_no_slips(stations):
    assert not [doubt for doubt in find_doubts(1e-3 * np.array(stations)) if doubt.outlier]
