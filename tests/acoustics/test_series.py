"""A resistance in the throat, against a pipe cut in two by hand and against the bore not cut."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import (
    TwoPort,
    input_impedance,
    solve_two_port,
    termination_at_cut,
)
from borestudy.air import Air, humid_air
from borestudy.bore import Bore, Entry, bore_from_dimensions, cylinder
from borestudy.closed_form.tube import transfer_matrix
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh

RADIUS, LENGTH, CUT = 1.83e-3, 60e-3, 20e-3
FREQUENCIES = np.linspace(100.0, 4000.0, 60)
RESISTANCE = 2e6


@pytest.fixture(scope="module")
def air() -> Air:
    return humid_air()


def solved(bore: Bore, folder: Path, air: Air) -> TwoPort:
    path = folder / f"{bore.length:.9f}-{bore.rim_radius:.9f}.msh"
    write_mesh(bore, path, ACOUSTICS, 1)
    return solve_two_port([read_mesh(path)], air, 50.0, 5000.0)


def test_a_pipe_with_a_resistance_in_it_is_the_product_of_three_matrices(
    tmp_path: Path, air: Air
) -> None:
    front, back = (solved(half, tmp_path, air) for half in cylinder(RADIUS, LENGTH).cut(CUT))
    termination = build_termination("open unflanged", RADIUS)
    found = input_impedance(front, termination_at_cut(back, termination, RESISTANCE), FREQUENCIES)
    omega = 2 * np.pi * FREQUENCIES
    series = np.array([[1.0, RESISTANCE], [0.0, 1.0]])
    state = (
        transfer_matrix(RADIUS, CUT, omega, air)
        @ series
        @ transfer_matrix(RADIUS, LENGTH - CUT, omega, air)
        @ termination.state(omega, air)[:, :, None]
    )
    np.testing.assert_allclose(found, state[:, 0, 0] / state[:, 1, 0], rtol=2e-4)


def test_a_bore_cut_in_its_throat_and_joined_again_is_the_bore(tmp_path: Path, air: Air) -> None:
    bore = bore_from_dimensions(
        length=88e-3,
        cup_diameter=16e-3,
        cup_depth=11e-3,
        cup_shape=0.6,
        throat_diameter=3.7e-3,
        throat_length=5e-3,
        entry=Entry(),
        backbore_end_diameter=9e-3,
    )
    whole = solved(bore, tmp_path, air)
    halves = bore.cut((bore.throat_start + bore.throat_end) / 2)
    front, back = (solved(half, tmp_path, air) for half in halves)
    termination = build_termination("anechoic pipe", bore.shank_radius)
    joined = input_impedance(front, termination_at_cut(back, termination), FREQUENCIES)
    np.testing.assert_allclose(joined, input_impedance(whole, termination, FREQUENCIES), rtol=1e-4)


def test_a_cut_says_what_is_in_it_and_nothing_by_default(tmp_path: Path, air: Air) -> None:
    _, back = (solved(half, tmp_path, air) for half in cylinder(RADIUS, LENGTH).cut(CUT))
    plain = build_termination("open", RADIUS)
    told = termination_at_cut(back, plain, RESISTANCE)
    assert told.note == "2e+06 Pa·s/m³ in series in the throat"
    assert told.kind == plain.kind
    noted = termination_at_cut(back, replace(plain, note="a step"), RESISTANCE)
    assert noted.note == f"a step; {told.note}"
    omega = 2 * np.pi * FREQUENCIES
    none, bare = (
        termination_at_cut(back, plain, *resistance).state(omega, air)
        for resistance in ((0.0,), ())
    )
    np.testing.assert_array_equal(none, bare)
