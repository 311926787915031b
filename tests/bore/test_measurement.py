"""What repeated readings, slips, smoothing and the errors of a measured bore come to."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, ttest_1samp

from borestudy.bore import BoreError, Reading, bore_from_stations, measure
from borestudy.bore.measured.errors import READING, station_errors
from borestudy.bore.measured.record import record_of
from borestudy.bore.measured.smoothing import smoothed
from borestudy.bore.readings import throat_stretch
from borestudy.bore.stations import measured_bore

#: A cone, a throat and a cone [mm].
CORNERS = np.array([(0, 16.2), (11, 3.66), (16, 3.66), (88, 9.0)])
LIMIT = 2e3 * READING  # of two readings of one diameter, mm


def read(tmp_path, *rows, **said):
    path = tmp_path / "bore.csv"
    path.write_text("\n".join(["position_mm,diameter_mm", *rows, ""]))
    return measure(path, Reading(**said))


def kinds(found):
    return [one.kind for one in found.findings if one.kind not in ("scatter", "noise")]


def lines_of(found, kind):
    (one,) = [one for one in found.findings if one.kind == kind]
    return one.lines


def around(*at_forty):
    """A bore with some readings at 40 mm, where its wall has a diameter of 6 mm."""
    return ["0,16", "11,4", "16,4", *(f"40,{d}" for d in at_forty), "64,8", "88,9.5"]


@pytest.mark.parametrize(
    ("apart", "kind"),
    [(0.0, "repeated readings"), (0.99, "repeated readings"), (1.01, "step"), (30, "step")],
)
def test_two_readings_are_a_step_if_they_differ_by_more_than_their_errors(tmp_path, apart, kind):
    low, high = 6 - apart * LIMIT / 2, 6 + apart * LIMIT / 2
    found = read(tmp_path, *around(f"{low:.6f}", f"{high:.6f}"))
    assert kinds(found) == [kind]
    assert lines_of(found, kind) == (5, 6)
    at = 1e3 * found.stations[1e3 * found.stations[:, 0] == 40]
    if kind == "step":
        np.testing.assert_allclose(at[:, 1], [low, high], rtol=1e-6)
        assert f"from {low:.6g} mm to {high:.6g} mm" in found.told[0]
    else:
        np.testing.assert_allclose(at, [(40, 6)], rtol=1e-6)
    why = "that two readings of one diameter may differ by" if apart else "they are the same"
    assert why in found.told[0]


def test_a_step_may_go_either_way_and_be_read_several_times(tmp_path):
    found = read(tmp_path, *around(6.2, 6.21, 5.99, 6.0, 6.19))
    assert 1e3 * found.stations[3:5, 1] == pytest.approx([6.2, 5.995])
    assert [one.lines for one in found.as_read[3:5]] == [(5, 6, 9), (7, 8)]
    # The wall goes from 5 mm before to 8 mm behind: not down by a step on the way.
    assert kinds(found) == ["step", "step not suggested"]
    (caution,) = found.cautions
    assert caution.startswith("bore.csv, lines 5 to 9:")


def test_the_study_or_a_better_gauge_says_what_readings_at_one_position_are(tmp_path):
    rows = around(6.0, 6.02)
    assert kinds(read(tmp_path, *rows)) == ["repeated readings"]
    assert kinds(read(tmp_path, *rows, same_position="step")) == ["step"]
    assert kinds(read(tmp_path, *rows, uncertainty=5e-6)) == ["step"]
    assert kinds(read(tmp_path, *around(6.0, 6.0), same_position="step")) == ["repeated readings"]
    apart = around(6.0, 6.2)
    assert kinds(read(tmp_path, *apart, same_position="repeated")) == ["repeated readings"]
    assert kinds(read(tmp_path, *apart, uncertainty=0.2e-3)) == ["repeated readings"]


def test_one_reading_that_stands_alone_is_a_slip(tmp_path):
    rows = around(6.0, 6.01, 7.0, 5.99)
    told = (
        r"^bore\.csv, line 7: found a diameter of 7 mm at 40 mm, where lines 5, 6, 8 read 6 mm; "
        r"allowed .* for example 6 mm there"
    )
    with pytest.raises(BoreError, match=told):
        read(tmp_path, *rows)
    found = read(tmp_path, *rows, outliers="leave out")
    assert kinds(found) == ["left out"]
    assert lines_of(found, "left out") == (7,)
    assert [one.values for one in found.left_out] == [(7e-3,)]
    assert found.as_read[3].values == pytest.approx((6e-3, 6.01e-3, 5.99e-3))
    assert "line 7: found a diameter of 7 mm" in found.cautions[0]
    kept = read(tmp_path, *rows, outliers="keep")
    assert "step" in kinds(kept)


def test_slips_are_left_out_if_the_study_says_so_and_told_with_their_lines(tmp_path):
    x = np.arange(0, 89, 2.0)
    d = np.interp(x, *CORNERS.T)
    d[[3, 30]] += [2.5, -1.5]
    rows = [f"{a:g},{b:.4f}" for a, b in zip(x, d, strict=True)]
    with pytest.raises(BoreError, match=r"line 5: .*'outliers: leave out'"):
        read(tmp_path, *rows)
    found = read(tmp_path, *rows, outliers="leave out")
    told = [one for one in found.findings if one.kind == "left out"]
    assert sorted(one.lines for one in told) == [(5,), (32,)]
    assert len(found.stations) == len(x) - 2
    assert sorted(1e3 * one.position for one in found.left_out) == pytest.approx([6, 60])
    bore = measured_bore(found)
    record = record_of(found, bore)
    assert [one.diameter_mm for one in record.left_out] == [None, None]
    assert {line for one in (*record.stations, *record.left_out) for line in one.lines} == set(
        range(2, len(x) + 2)
    )


def test_rough_readings_are_told_against_a_finer_uncertainty(tmp_path):
    x = np.arange(0, 89, 1.0)
    d = np.interp(x, *CORNERS.T) + np.random.default_rng(1).normal(0, 0.02, len(x))
    rows = [f"{a:g},{b:.5f}" for a, b in zip(x, d, strict=True)]
    coarse = read(tmp_path, *rows, uncertainty=0.04e-3)
    assert not [one for one in coarse.findings if one.kind == "noise"]
    (told,) = [one.text for one in coarse.findings if one.kind == "scatter"]
    # 81 deviations know their standard deviation to a quarter or so, by their median.
    assert float(told.split(" of about ")[1].split()[0]) == pytest.approx(0.02, rel=0.35)
    fine = read(tmp_path, *rows, uncertainty=0.005e-3)
    assert [one for one in fine.findings if one.kind == "noise"]
    assert any("is the wall rough" in line for line in fine.cautions)


def test_parts_are_found_with_their_ends_and_diameters(tmp_path):
    found = read(tmp_path, "0,16", "11,4", "16,4", "40,6", "40,6.5", "88,9")
    record = record_of(found, measured_bore(found))
    parts = {name: (one.from_mm, one.to_mm, one.first_diameter_mm, one.last_diameter_mm)
             for name, one in record.parts.items()}  # fmt: skip
    assert parts == {
        "cup": pytest.approx((0, 11, 16, 4)),
        "throat": pytest.approx((11, 16, 4, 4)),
        "backbore": pytest.approx((16, 88, 4, 9)),
    }
    assert record.places.startswith("rim plane at 0 mm (16 mm wide); cup 0 to 11 mm")
    assert record.places.endswith("shank end at 88 mm (9 mm wide)")


# Errors.


def test_the_stated_uncertainty_of_a_mean_falls_with_the_root_of_its_readings():
    errors = station_errors([(1.0,), (1.0, 1.1, 0.9, 1.0)], stated=20e-6, common=5e-6)
    assert errors.independent_m.tolist() == pytest.approx([20e-6, 10e-6])
    assert errors.common_m == 5e-6
    assert errors.source == "the stated uncertainty"


def test_without_a_statement_or_repeats_common_practice_stands_in():
    errors = station_errors([(1.0,), (2.0,)], last_digit=1e-5)
    assert errors.independent_m.tolist() == [READING, READING]
    assert "common practice" in errors.source


def test_the_pooled_scatter_is_that_of_an_independent_analysis():
    random = np.random.default_rng(5)
    repeats = [tuple(random.normal(mean, 1e-5, count)) for mean, count in
               [(4e-3, 3), (9e-3, 1), (6e-3, 5), (16e-3, 2)]]  # fmt: skip
    errors = station_errors(repeats)
    assert "3 stations" in errors.source
    assert "7 degrees of freedom" in errors.source
    # One station of the same readings: its interval is that of Student's test.
    alone = station_errors([repeats[2]])
    interval = ttest_1samp(repeats[2], 0).confidence_interval(0.95)
    assert alone.independent_m[0] == pytest.approx((interval.high - interval.low) / 2, rel=1e-12)
    # Pooled: residuals of the fit of a mean a station, by least squares.
    design = np.repeat(np.eye(4), [3, 1, 5, 2], axis=0)
    _, (rest,), *_ = np.linalg.lstsq(design, np.concatenate(repeats), rcond=None)
    ratio = errors.independent_m[1] / np.sqrt(rest / 7)
    assert ratio == pytest.approx(2.364624, rel=1e-6)  # Student's 97.5 % of 7, from tables
    np.testing.assert_allclose(errors.independent_m[[0, 2, 3]] / errors.independent_m[1],
                               1 / np.sqrt([3, 5, 2]))  # fmt: skip


def test_19_of_20_stations_are_within_the_error_from_their_scatter():
    random, inside, count = np.random.default_rng(11), 0, 0
    for _ in range(400):
        readings = random.normal(4e-3, 1e-5, (6, 2))
        errors = station_errors([tuple(row) for row in readings])
        inside += int((np.abs(readings.mean(axis=1) - 4e-3) <= errors.independent_m).sum())
        count += 6
    # Six stations of one draw share their scale: of 400 draws the share is known to one per cent.
    assert inside / count == pytest.approx(0.95, abs=0.025)


def test_equal_readings_are_no_surer_than_half_their_last_digit():
    errors = station_errors([(4e-3, 4e-3), (9e-3,)], last_digit=1e-5)
    assert errors.independent_m.tolist() == pytest.approx([5e-6, 5e-6])


def test_the_last_digit_is_that_of_the_diameters_in_the_file(tmp_path):
    found = read(tmp_path, "0.000,16.00", "11,4.00", "11,4.00", "16,4.00", "88,9.00")
    assert found.errors.independent_m.tolist() == pytest.approx([5e-6] * 4)


def test_a_position_that_is_off_counts_with_the_slope_of_the_wall(tmp_path):
    rows = ["0,16", "5,11", "10,6", "10,5", "15,5", "20,5", "88,9"]
    plain, steep = (read(tmp_path, *rows, uncertainty=3e-5, position_uncertainty=size).errors
                    for size in (0.0, 4e-5))  # fmt: skip
    assert plain.independent_m.tolist() == [3e-5] * 7
    # On the cone the diameter falls as fast as the position grows; on the cylinder not at all.
    assert steep.independent_m[:5].tolist() == pytest.approx([5e-5] * 3 + [3e-5] * 2)
    # Made again with one position off: what the bore has at 5 mm then.
    off = np.interp(5, [0, 5.04, 10], [16, 11, 6]) - 11
    assert np.sqrt(steep.independent_m[1] ** 2 - 9e-10) == pytest.approx(1e-3 * off, rel=0.01)


# Smoothing.


#: Of diameters of 16 mm, by eigenvectors of a matrix whose eigenvalues are 1e-6 apart or less [m].
ROUNDING = 1e-8


def noisy(spacing, size, seed):
    x = np.arange(0, 88 + 1e-9, spacing)
    d = np.interp(x, *CORNERS.T)
    noise = np.random.default_rng(seed).normal(0, size, len(x))
    return x, d, 1e-3 * np.column_stack([x, d + noise])


def smooth(stations, bound, error=READING):
    return smoothed(stations, bound, error, throat_stretch(stations), 4 * READING)


@given(
    st.integers(0, 10**6), st.floats(1e-6, 1e-4), st.floats(0, 0.05), st.sampled_from([1, 2.5, 7])
)
@settings(max_examples=60, deadline=None)
def test_no_station_is_moved_by_more_than_the_bound(seed, bound, size, spacing):
    _, _, stations = noisy(spacing, size, seed)
    made = smooth(stations, bound)
    moved = np.abs(made.stations[:, 1] - stations[:, 1])
    assert moved.max() <= bound * (1 + 1e-9)
    assert made.largest == moved.max()
    assert moved[made.where] == moved.max()
    np.testing.assert_array_equal(made.stations[:, 0], stations[:, 0])


@pytest.mark.parametrize("spacing", [1.0, 2.0])
def test_smoothing_takes_noise_off_and_keeps_throat_and_corners(spacing):
    before, after, corner, throat = [], [], [], []
    for seed in range(20):
        x, d, stations = noisy(spacing, 0.0127, seed)
        made = 1e3 * smooth(stations, 0.05e-3).stations[:, 1]
        before.append(np.std(1e3 * stations[:, 1] - d))
        after.append(np.sqrt(np.mean((made - d) ** 2)))
        first, last = throat_stretch(stations)
        assert np.ptp(made[first : last + 1]) < 1e-12  # a cylinder
        throat.append(made[first] - 3.66)
        corner.append(np.abs(made - d)[(x > 8) & (x < 13)].max())
    # Lines through tens of stations: a half at most is left.
    assert np.mean(after) < 0.5 * np.mean(before)
    # Not rounded: what is off at the corner is the noise, three standard deviations at most.
    assert max(corner) < 3 * 0.0127
    # A mean of two to five stations, over 20 draws.
    assert abs(np.mean(throat)) < 3 * 0.0127 / np.sqrt(2 * 20)


def test_straight_walls_without_noise_stay_as_they_are():
    _, _, stations = noisy(1.0, 0.0, 0)
    np.testing.assert_allclose(smooth(stations, 1e-4).stations, stations, rtol=0, atol=ROUNDING)


def test_a_step_stays_and_nothing_is_smoothed_across_it():
    x = np.array(
        [0, 2, 4, 6, 8, 10, 11, 13, 16, 20, 24, 28, 32, 36, 40, 40, 44, 50, 60, 70, 80, 88]
    )
    d = np.interp(x, *CORNERS.T) + np.where(np.arange(len(x)) > 14, 0.3, 0)
    stations = 1e-3 * np.column_stack([x, d])
    made = smooth(stations, 0.05e-3)
    np.testing.assert_allclose(made.stations, stations, rtol=0, atol=ROUNDING)


def test_the_smoothed_bore_is_that_of_a_convex_programme_within_the_bound():
    """The same minimum found by another method, of one penalty: SciPy's SLSQP."""
    from scipy.optimize import minimize

    random = np.random.default_rng(3)
    x = np.linspace(0, 30, 16)
    d = 6 + 0.05 * x + 2e-3 * x**2 + random.normal(0, 0.03, len(x))
    stations, bound = 1e-3 * np.column_stack([x, d]), 0.02e-3
    made = smoothed(stations, bound, 0.1e-3, (0, 0), 1.0)
    free = smoothed(stations, 1.0, 0.1e-3, (0, 0), 1.0)
    assert free.largest > bound  # so that the bound is met
    gaps = np.diff(x)

    def rough(y):
        turns = np.diff(np.diff(y) / gaps)
        return np.sum(turns**2 / ((gaps[:-1] + gaps[1:]) / 2))

    # The penalty is the one at which the solution without a bound has no gradient.
    y = 1e3 * free.stations[:, 1]
    basis = np.eye(len(x))
    slope = np.array([(rough(y + 1e-4 * e) - rough(y - 1e-4 * e)) / 2e-4 for e in basis])
    penalty = float(-(2 * (y - d)) @ slope / (slope @ slope))
    np.testing.assert_allclose(2 * (y - d) + penalty * slope, 0, atol=1e-6)
    limits = [(value - 0.02, value + 0.02) for value in d]
    best = minimize(lambda y: np.sum((y - d) ** 2) + penalty * rough(y), d, bounds=limits,
                    method="SLSQP", options={"ftol": 1e-14, "maxiter": 1000})  # fmt: skip
    np.testing.assert_allclose(1e3 * made.stations[:, 1], best.x, atol=2e-5)


def test_smoothing_is_told_with_its_bound_and_its_largest_deviation(tmp_path):
    _, _, stations = noisy(1.0, 0.0127, 4)
    rows = [f"{a:.3f},{b:.5f}" for a, b in 1e3 * stations]
    found = read(tmp_path, *rows, smoothing=0.02e-3)
    assert 0 < found.largest_deviation <= 0.02e-3 * (1 + 1e-9)
    (told,) = [one for one in found.findings if one.kind == "smoothing"]
    assert (
        "by no more than 0.02 mm; the largest deviation from a station is "
        f"{1e3 * found.largest_deviation:.4f} mm" in told.text
    )
    read_, used = np.array([one.diameter for one in found.as_read]), found.stations[:, 1]
    assert told.lines == found.as_read[int(np.argmax(np.abs(used - read_)))].lines
    bore = bore_from_stations(tmp_path / "bore.csv", reading=Reading(smoothing=0.02e-3))
    assert float(bore.radius(0.050)) == pytest.approx(used[50] / 2)
    record = record_of(found, bore)
    assert record.smoothing_mm == pytest.approx(0.02)
    assert record.largest_deviation_mm == pytest.approx(1e3 * found.largest_deviation)


def test_the_errors_of_smoothed_stations_are_no_larger_than_the_readings():
    """The map of readings to smoothed ones has no eigenvalue above 1, seen by differences."""
    _, _, stations = noisy(4.0, 0.0127, 2)
    throat, bound = throat_stretch(stations), 1.0
    columns = []
    for k in range(len(stations)):
        sides = []
        for sign in (1, -1):
            moved = stations.copy()
            moved[k, 1] += sign * 1e-9
            sides.append(smoothed(moved, bound, READING, throat, 4 * READING).stations[:, 1])
        columns.append((sides[0] - sides[1]) / 2e-9)
    map_ = np.array(columns).T
    np.testing.assert_allclose(map_, map_.T, atol=1e-4)
    assert np.linalg.eigvalsh((map_ + map_.T) / 2).max() <= 1 + 1e-4


def test_chi_square_of_the_smoothed_readings_is_that_of_their_noise():
    """What smoothing takes off a straight noisy wall is the noise: its size is the stated one."""
    x = np.arange(0, 80, 1.0)
    ratios = []
    for seed in range(30):
        d = 5 + 0.05 * x + np.random.default_rng(seed).normal(0, 0.0127, len(x))
        stations = 1e-3 * np.column_stack([x, d])
        made = smoothed(stations, 1.0, READING, (0, 0), 4 * READING)
        ratios.append(np.sum((1e3 * (made.stations - stations)[:, 1]) ** 2) / 0.0127**2)
    # At least the two of a line are fitted, and rarely more than ten.
    low, high = chi2.ppf(1e-4, 30 * 70), chi2.ppf(1 - 1e-4, 30 * 78)
    assert low < sum(ratios) < high
