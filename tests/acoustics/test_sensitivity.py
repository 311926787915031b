"""What a dimension does to a resonance: pipes, cones, a flask, and identities of any bore."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from borestudy.acoustics import two_port as module
from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.reduced_basis import reduce_operator
from borestudy.acoustics.resonances import (
    impedance_peaks,
    lossless_resonances,
    quality_factors,
    resonance_figures,
)
from borestudy.acoustics.response import near_peaks
from borestudy.acoustics.result import Resonance
from borestudy.acoustics.sensitivity import changed, slopes_by_dimension
from borestudy.acoustics.shape import operator_derivatives
from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.stored import load_two_port, save_two_port
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import ReducedModel, TwoPort, input_impedance, solve_two_port
from borestudy.bore import cone, cylinder, variation
from borestudy.closed_form import tube
from borestudy.closed_form.air_column import air_column
from borestudy.closed_form.area_step import end_correction
from borestudy.closed_form.cone import plane_face_stretch, resonances
from borestudy.records import from_plain, to_plain
from borestudy.study import load_study

from .conftest import CONFIGS, mapped_mesh

OCTAVE = 1200 / np.log(2)  # cents of a whole, to first order
RANGE = (100.0, 5000.0)
RADIUS, LENGTH = 4.6e-3, 0.088
NODE = "pressure node"


def curve(two_port, end):
    return lambda frequencies: input_impedance(two_port, end, frequencies)


def slopes_of(two_port, end):
    """Figures of every resonance (n, 3), and its slopes by dimension, of a two-port of one mesh."""
    if two_port.walls == "lossless":
        found = lossless_resonances(curve(two_port, end), *two_port.range_Hz)
        figures = np.column_stack([found, np.full((len(found), 2), np.nan)])
    else:
        figures = resonance_figures(curve(two_port, end), *two_port.range_Hz)
    return figures, slopes_by_dimension(two_port, end, figures[None])


def of_bore(mesh, air, bore, dimensions, walls="curved", range_=RANGE):
    return solve_two_port([mesh], air, *range_, walls, bore, dimensions)


def by_length_and_radius(build):
    return [
        variation(lambda a: build(a, LENGTH), RADIUS, key="radius"),
        variation(lambda length: build(RADIUS, length), LENGTH, key="length"),
    ]


@pytest.fixture(scope="module")
def pipe(meshed):
    bore = cylinder(RADIUS, LENGTH)
    return meshed(bore, 0), bore, by_length_and_radius(cylinder)


def test_a_lossless_pipes_frequencies_go_with_one_over_its_length(pipe, dry_air):
    """df/dL = −f/L with ends that know no length, and its radius does nothing."""
    mesh, *of = pipe
    two_port = of_bore(mesh, dry_air, *of, walls="lossless")
    end = build_termination("pressure node", RADIUS, "lossless")
    figures, slopes = slopes_of(two_port, end)
    assert len(figures) == 3  # odd quarter waves below 5 kHz
    for slope in slopes:
        expected = -OCTAVE / LENGTH * 1e-3  # per mm
        # the elements' error of a frequency, 1e-6, moves with the mesh
        assert slope["length"].frequency.value == pytest.approx(expected, rel=1e-5)
        assert abs(slope["radius"].frequency.value) < 1e-5 * OCTAVE / RADIUS * 1e-3
        assert slope["length"].Q is None
        assert slope["length"].impedance_peak is None


@pytest.mark.parametrize("kind", ["closed", "open"])
def test_a_pipes_resonances_move_with_length_and_radius_as_its_chain_matrix_says(
    pipe, dry_air, kind
):
    """Frequency, Q and height with losses and the end that goes with the radius.

    Differences of the closed form, over steps whose square leaves 1e-5.  The walls' series leaves
    6e-4 of Q and of height (`WALL_SHARE`), and as much of their slopes.
    """
    mesh, *of = pipe
    two_port = of_bore(mesh, dry_air, *of)
    figures, slopes = slopes_of(two_port, build_termination(kind, RADIUS))

    def exact(radius, length):
        end = build_termination(kind, radius)

        def impedance(frequencies):
            omega = 2 * np.pi * frequencies
            state = end.state(omega, dry_air)[:, :, None]
            chain = tube.transfer_matrix(radius, length, omega, dry_air, theory="Kirchhoff")
            pressure, flow = (chain @ state)[:, :, 0].T
            return pressure / flow

        frequency, height = impedance_peaks(impedance, *RANGE)
        return np.column_stack([frequency, quality_factors(impedance, frequency, *RANGE), height])

    step = 2e-3
    for key, value in (("radius", RADIUS), ("length", LENGTH)):
        known = {"radius": RADIUS, "length": LENGTH}
        more, less = (exact(**known | {key: value * (1 + side * step)}) for side in (1, -1))
        expected = (more - less) / (2 * step * value) * 1e-3
        for figure, slope, right in zip(figures, slopes, expected, strict=True):
            found = slope[key]
            in_hertz = found.frequency.value * figure[0] / OCTAVE
            # a closed pipe's radius moves its frequencies by its losses alone
            assert in_hertz == pytest.approx(
                right[0], rel=1e-3, abs=1e-6 * figure[0] / value * 1e-3
            )
            assert found.Q.value == pytest.approx(right[1], rel=2e-3)
            assert found.impedance_peak.value == pytest.approx(right[2], rel=2e-3)


def test_a_cones_frequencies_move_with_its_length_and_its_end(meshed, dry_air):
    """Spherical waves (closed at the narrow end, a pressure node at the wide one), plane faces.

    The stretch by plane faces is right up to the fourth power of the half angle, 2e-6.
    """
    first, last, length = 1.83e-3, 4.6e-3, 0.072
    bore = cone(first, last, length)
    dimensions = [
        variation(lambda value: cone(first, value, length), last, key="end radius"),
        variation(lambda value: cone(first, last, value), length, key="length"),
    ]
    two_port = of_bore(meshed(bore, 1), dry_air, bore, dimensions, walls="lossless")
    figures, slopes = slopes_of(two_port, build_termination(NODE, last, "lossless"))

    def exact(last, length):
        found = resonances(first, last, length, dry_air.sound_speed, "closed-open", 2)
        return found / plane_face_stretch(first, last, length)

    np.testing.assert_allclose(figures[:, 0], exact(last, length), rtol=1e-5)
    step = 1e-4
    for key, value in (("end radius", last), ("length", length)):
        changes = [
            np.log(exact(last * (1 + side * step), length) if key == "end radius"
                   else exact(last, length * (1 + side * step)))
            for side in (1, -1)
        ]  # fmt: skip
        expected = OCTAVE * (changes[0] - changes[1]) / (2 * step * value) * 1e-3
        found = [slope[key].frequency.value for slope in slopes]
        np.testing.assert_allclose(found, expected, rtol=2e-4)


NECK, CAVITY = (2e-3, 15e-3), (8e-3, 10e-3)  # radius and length


def flask_mesh(depth):
    """A cavity with a neck, its edge graded; the cavity's bottom is the rim plane."""
    graded = np.concatenate([[0], np.geomspace(1e-5, 1, 20)])
    axial = np.concatenate([-CAVITY[1] * graded[::-1], NECK[1] * graded[1:]])
    inner = NECK[0] * (1 - graded[::-1])
    radial = np.concatenate([inner, NECK[0] + (CAVITY[0] - NECK[0]) * graded[1:]])

    def mapping(x, r):
        return np.where(x < 0, x * depth / CAVITY[1], x), r

    return mapped_mesh(axial, radial, mapping, lambda x, r: (x < 0) | (r < NECK[0]))


def varied(mesh, air, velocities, walls, range_):
    """A two-port with derivatives by motions of the nodes, as ``0``, ``1``, … per mm."""
    operator, reduction, basis = reduce_operator(assemble(mesh, walls), air, *range_)
    derivatives = operator_derivatives(mesh, walls, velocities, basis)
    model = ReducedModel(operator, reduction, operator.unknowns, 1e-2, derivatives)
    keys = tuple(str(number) for number in range(len(velocities)))
    return TwoPort((model,), air, *range_, keys, ("mm",) * len(keys), (0.0,) * len(keys))


def test_a_helmholtz_resonator_goes_with_the_root_of_its_volume(dry_air):
    """f ~ V^(−1/2) for a cavity much shorter than the wave; and the chain cavity, step, neck.

    The step's inertance is that of long tubes at low frequency: evanescent waves that reach the
    cavity's bottom, exp(−2 · 3.83 · 10/8), and (kb)² leave 5e-3 of it, and it is a tenth of the
    neck's.
    """
    mesh, step = flask_mesh(CAVITY[1]), 1e-6
    ends = [flask_mesh(CAVITY[1] + side * step).doflocs for side in (1, -1)]
    velocity = (ends[0] - ends[1]) / (2 * step)
    two_port = varied(mesh, dry_air, velocity[None], "lossless", (100.0, 3000.0))
    end = build_termination(NODE, NECK[0], "lossless")
    figures, slopes = slopes_of(two_port, end)

    def exact(depth):
        def pressure_at_mouth(frequency):
            omega = 2 * np.pi * frequency
            wavenumber = omega / dry_air.sound_speed
            plane = dry_air.density * dry_air.sound_speed / np.pi
            # from p = 1, U = 0 at the bottom; flows along the axis, U = i × real
            pressure = np.cos(wavenumber * depth)
            flow = -np.sin(wavenumber * depth) * CAVITY[0] ** 2 / plane
            inertance = dry_air.density * end_correction(NECK[0] / CAVITY[0]) / (np.pi * NECK[0])
            pressure += omega * inertance * flow
            return pressure * np.cos(wavenumber * NECK[1]) + plane / NECK[0] ** 2 * flow * np.sin(
                wavenumber * NECK[1]
            )

        return brentq(pressure_at_mouth, 300, 2000, xtol=1e-9)

    frequency, slope = figures[0, 0], slopes[0]["0"].frequency.value
    assert frequency == pytest.approx(exact(CAVITY[1]), rel=2e-3)
    more, less = (exact(CAVITY[1] + side * 1e-5) for side in (1, -1))
    expected = OCTAVE * np.log(more / less) / 2e-5 * 1e-3
    assert slope == pytest.approx(expected, rel=5e-3)
    # in powers: the waves in neck and cavity take (kL)²/3, 4 %, and the neck's share
    assert slope / OCTAVE * CAVITY[1] * 1e3 == pytest.approx(-0.5, abs=0.03)


@pytest.fixture(scope="module")
def case():
    return load_study(CONFIGS / "overall-length.yaml").cases()[0]


@pytest.fixture(scope="module")
def levels(case, meshed):
    return [meshed(case.build_bore(), level) for level in (0, 1)]


@pytest.fixture(scope="module")
def bowl(case, levels):
    """Two meshes of a bore with a bowl, a rounded entry and a curved backbore."""
    ends, dimensions = (100.0, 4000.0), case.dimensions()
    return solve_two_port(
        levels, case.build_air(), *ends, bore=case.build_bore(), dimensions=dimensions
    )


@pytest.mark.parametrize("kind", ["closed", NODE])
def test_all_lengths_together_scale_the_frequencies_of_a_lossless_bore(case, levels, kind):
    """Σ d ∂f/∂d = −f over every length of the bore (Euler), since nothing else has a length."""
    bore, dimensions = case.build_bore(), [one for one in case.dimensions() if one.unit == "mm"]
    assert len(dimensions) == 7
    two_port = of_bore(levels[0], case.build_air(), bore, dimensions, "lossless", (100, 4000))
    figures, slopes = slopes_of(two_port, build_termination(kind, bore.shank_radius, "lossless"))
    assert len(figures) == 2
    for slope in slopes:
        total = sum(one.value * 1e3 * slope[one.key].frequency.value for one in dimensions)
        # the nodes inside do not scale: what the elements miss of a frequency, 4e-5, is left
        assert total == pytest.approx(-OCTAVE, rel=1e-4)


STEPS = {"mm": 2e-6, "": 2e-4}


@pytest.mark.parametrize("kind", ["closed", "open", "anechoic pipe"])
def test_slopes_are_those_of_the_changed_two_port(bowl, case, kind):
    """Central differences of the peaks of `changed`, which the search finds to 1e-8.

    The entry's radius is the least: the square of the step is 2e-5 of it, and was 8e-5 of a height.
    """
    end = build_termination(kind, bowl.shank_radius)
    finest = replace(bowl, models=bowl.models[-1:])
    figures, slopes = slopes_of(finest, end)
    for key, unit in zip(bowl.dimensions, bowl.units, strict=True):
        both = []
        for side in (1, -1):
            other = changed(finest, {key: side * STEPS[unit]})
            again = end.at(other.shank_radius)
            both.append(resonance_figures(curve(other, again), *finest.range_Hz))
        in_unit = STEPS[unit] * {"mm": 1e3, "": 1.0}[unit]
        expected = (both[0] - both[1]) / (2 * in_unit)
        for figure, slope, right in zip(figures, slopes, expected, strict=True):
            one = slope[key]
            frequency = one.frequency.value * figure[0] / OCTAVE
            noise = 1e-8 * figure / in_unit
            assert frequency == pytest.approx(right[0], rel=2e-4, abs=noise[0])
            assert one.Q.value == pytest.approx(right[1], rel=2e-4, abs=100 * noise[1])
            assert one.impedance_peak.value == pytest.approx(right[2], rel=2e-4, abs=noise[2])


@pytest.mark.parametrize("key", ["length", "throat.diameter", "cup.depth"])
def test_a_bore_built_and_meshed_anew_has_the_peak_that_the_slope_says(bowl, case, meshed, key):
    """Cases 0.1 mm larger and smaller: the coarse meshes' scatter is 0.03 cents a peak."""
    end = build_termination("anechoic pipe", bowl.shank_radius)
    _, slopes = slopes_of(replace(bowl, models=bowl.models[:1]), end)
    (dimension,) = (one for one in case.dimensions() if one.key == key)
    both = []
    for side in (1, -1):
        bore = dimension.changed(case.build_bore(), side * 1e-4)
        other = solve_two_port([meshed(bore, 0)], bowl.air, *bowl.range_Hz)
        again = end.at(other.shank_radius)
        both.append(resonance_figures(curve(other, again), *bowl.range_Hz)[0])
    change = OCTAVE * np.log(both[0][0] / both[1][0])
    expected = 0.2 * slopes[0][key].frequency.value
    assert abs(expected) > 1
    assert change == pytest.approx(expected, abs=0.05, rel=2e-3)


def test_a_full_matrix_says_what_the_reduced_one_does(bowl, levels, case, monkeypatch, tmp_path):
    """Where the basis fails the derivatives are sparse; the basis leaves out less than 1e-3."""
    monkeypatch.setattr(
        module, "reduce_operator", lambda *given: reduce_operator(*given, largest_snapshot_count=2)
    )
    keys = ("throat.diameter", "cup.shape", "backbore.end_diameter")
    dimensions = [one for one in case.dimensions() if one.key in keys]
    direct = of_bore(levels[0], bowl.air, case.build_bore(), dimensions, range_=bowl.range_Hz)
    save_two_port(direct, tmp_path / "two_port.npz")
    again = load_two_port(tmp_path / "two_port.npz")
    assert again.finest.reduction.direct
    assert again.finest.derivatives[0].unknowns == levels[0].doflocs.shape[1]
    end = build_termination("closed", bowl.shank_radius)
    first = replace(bowl, models=bowl.models[:1])
    figures, slopes = slopes_of(first, end)
    for reduced, full in zip(slopes, slopes_by_dimension(again, end, figures[None]), strict=True):
        assert set(full) == set(keys)
        for key, one in full.items():
            for name in ("frequency", "Q", "impedance_peak"):
                other = getattr(reduced[key], name).value
                largest = max(abs(getattr(each, name).value) for each in full.values())
                assert getattr(one, name).value == pytest.approx(
                    other, rel=1e-3, abs=1e-4 * largest
                )


def test_a_stored_two_port_keeps_its_dimensions_and_derivatives(bowl, tmp_path):
    save_two_port(bowl, tmp_path / "two_port.npz")
    again = load_two_port(tmp_path / "two_port.npz")
    assert again.dimensions == bowl.dimensions
    assert "throat.entry.radius" in again.dimensions
    assert (again.units, again.values) == (bowl.units, bowl.values)
    amounts = {"throat.diameter": 1e-5, "backbore.end_diameter": -2e-5}
    one, other = (changed(each, amounts) for each in (bowl, again))
    end = build_termination("open", one.shank_radius)
    places = np.array([300.0, 1700.0])
    np.testing.assert_array_equal(curve(one, end)(places), curve(other, end)(places))


def test_a_resonance_keeps_its_slopes_with_the_error_of_the_meshes(bowl):
    end = build_termination("anechoic pipe", bowl.shank_radius)
    result = acoustic_result(bowl, end)
    peak = result.resonances[0]
    assert tuple(peak.by_dimension) == bowl.dimensions
    for slope in peak.by_dimension.values():
        for one in (slope.frequency, slope.Q, slope.impedance_peak):
            assert len(one.levels) == 2
            assert one.uncertainty >= abs(one.levels[1] - one.levels[0])
    largest = peak.by_dimension["throat.diameter"]
    for one in (largest.frequency, largest.Q, largest.impedance_peak):
        assert one.uncertainty < 5e-3 * abs(one.value)
    again = from_plain(Resonance, json.loads(json.dumps(to_plain(peak))))
    assert again.by_dimension == peak.by_dimension
    assert acoustic_result(replace(bowl, dimensions=()), end).resonances[0].by_dimension == {}


def test_a_changed_two_port_has_the_changed_shank(bowl):
    assert changed(bowl, {}).finest.operator.ports == bowl.finest.operator.ports
    wider = changed(bowl, {"backbore.end_diameter": 2e-4})
    assert wider.shank_radius == pytest.approx(bowl.shank_radius + 1e-4, rel=1e-9)
    assert wider.finest.operator.ports[1].area == pytest.approx(
        np.pi * (bowl.shank_radius**2 + 2e-4 * bowl.shank_radius), rel=1e-9
    )
    place = bowl.dimensions.index("backbore.end_diameter")
    assert wider.values[place] == pytest.approx(bowl.values[place] + 2e-4)


def test_a_termination_goes_with_the_radius_but_an_air_column_keeps_its_own(dry_air):
    omega = 2 * np.pi * np.array([300.0, 2000.0])
    for kind in ("closed", "anechoic pipe", "open", "open flanged"):
        end = build_termination(kind, 4e-3).at(4.4e-3)
        np.testing.assert_array_equal(
            end.state(omega, dry_air), build_termination(kind, 4.4e-3).state(omega, dry_air)
        )
    column = air_column([0, 1.2], [4e-3, 6e-3])
    joined = build_termination("air column", 4e-3, column=column)
    stepped = build_termination("air column", 4.4e-3, column=column)
    assert "step" not in joined.note
    assert joined.at(4.4e-3).note == stepped.note
    np.testing.assert_array_equal(
        joined.at(4.4e-3).state(omega, dry_air), stepped.state(omega, dry_air)
    )
    node = build_termination("pressure node", 4e-3)
    assert node.at(5e-3) is node


@pytest.mark.parametrize(("Q", "error"), [(1.0, 1e-4), (1.5, 1e-8), (10.0, 1e-10)])
def test_a_termination_is_continued_from_real_frequencies_to_a_pole(dry_air, Q, error):
    """Twenty points to the side; the root of frequency branches at 0 Hz, which low Q comes near."""
    frequency = np.array([300.0, 2000.0])
    end = build_termination("anechoic pipe", RADIUS)
    pole = (frequency * (1 + 0.5j / Q))[:, None]
    pressure, flow = near_peaks(end, RADIUS, dry_air, frequency, np.full(2, Q)).state(pole)[0]
    exact = tube.characteristic_impedance(RADIUS, 2 * np.pi * pole, dry_air)
    np.testing.assert_allclose(pressure / flow, exact, rtol=error)


def test_an_unknown_dimension_is_refused_with_the_nearest(bowl):
    with pytest.raises(ValueError, match=r"did you mean throat\.diameter\?.*cup\.depth"):
        changed(bowl, {"throat.diametre": 1e-5})
    with pytest.raises(ValueError, match="solved without dimensions"):
        changed(replace(bowl, dimensions=()), {"length": 1e-5})


def test_dimensions_without_their_bore_are_refused(case, levels, dry_air):
    with pytest.raises(ValueError, match="need the bore"):
        solve_two_port(levels, dry_air, 100, 500, dimensions=case.dimensions())
