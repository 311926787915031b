"""The two-port: identities, terminations, storing it, and ranges that make no sense."""

import numpy as np
import pytest
from skfem import MeshTri2

from borestudy.acoustics import two_port as module
from borestudy.acoustics.solve import power_balance, reciprocity
from borestudy.acoustics.stored import load_two_port, save_two_port
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import (
    driven_at_rim,
    input_impedance,
    solve_two_port,
    two_port_matrix,
)
from borestudy.closed_form import tube
from borestudy.closed_form.air_column import air_column

FREQUENCIES = np.geomspace(60, 4800, 40)
OMEGA = 2 * np.pi * FREQUENCIES
KINDS = ["closed", "open", "open flanged", "anechoic pipe"]


@pytest.mark.parametrize("kind", KINDS)
def test_power_in_is_lost_at_the_wall_or_leaves(mouthpiece, kind):
    termination = build_termination(kind, mouthpiece.shank_radius)
    assert np.abs(power_balance(mouthpiece, termination, FREQUENCIES)).max() < 1e-9


def test_two_port_is_reciprocal_and_its_chain_matrix_has_determinant_one(mouthpiece):
    assert reciprocity(mouthpiece, FREQUENCIES).max() < 1e-9
    matrix = two_port_matrix(mouthpiece, FREQUENCIES)
    chain = np.empty_like(matrix)
    chain[:, 0, 0], chain[:, 0, 1] = matrix[:, 0, 0], np.linalg.det(matrix)
    chain[:, 1, 0], chain[:, 1, 1] = 1, matrix[:, 1, 1]
    np.testing.assert_allclose(np.linalg.det(chain / matrix[:, 1, 0, None, None]), 1, rtol=1e-8)


def test_bore_is_passive(mouthpiece):
    for kind in KINDS:
        termination = build_termination(kind, mouthpiece.shank_radius)
        assert (input_impedance(mouthpiece, termination, FREQUENCIES).real > 0).all()


@pytest.fixture(scope="module")
def pipe(dry_air, meshes):
    return solve_two_port([meshes.tube(4.6e-3, 0.08, 40, 2)], dry_air, 50, 5000)


def through_tube(length, state, air):
    chain = tube.transfer_matrix(4.6e-3, length, OMEGA, air) @ state[:, :, None]
    return chain[:, :, 0]


@pytest.mark.parametrize("kind", KINDS)
def test_pipe_with_a_termination_is_the_chain_of_both(pipe, dry_air, kind):
    termination = build_termination(kind, 4.6e-3)
    state = termination.state(OMEGA, dry_air)
    pressure, flow = through_tube(0.08, state, dry_air).T
    np.testing.assert_allclose(
        input_impedance(pipe, termination, FREQUENCIES), pressure / flow, rtol=1e-3
    )
    rim, shank, _ = driven_at_rim(pipe, termination, FREQUENCIES)
    np.testing.assert_allclose(shank / rim, state[:, 0] / pressure, rtol=1e-3)


def test_pipe_before_an_air_column_is_one_longer_pipe(pipe, dry_air):
    column = air_column(np.array([0, 0.4]), np.full(2, 4.6e-3), "closed")
    termination = build_termination("air column", pipe.shank_radius, column=column)
    end = build_termination("closed", 4.6e-3).state(OMEGA, dry_air)
    pressure, flow = through_tube(0.48, end, dry_air).T
    np.testing.assert_allclose(
        input_impedance(pipe, termination, FREQUENCIES), pressure / flow, rtol=2e-3
    )


def test_anechoic_pipe_hides_where_it_begins(pipe, dry_air):
    termination = build_termination("anechoic pipe", pipe.shank_radius)
    exact = tube.characteristic_impedance(4.6e-3, OMEGA, dry_air)
    np.testing.assert_allclose(input_impedance(pipe, termination, FREQUENCIES), exact, rtol=2e-4)


def test_another_termination_solves_nothing_anew(mouthpiece, monkeypatch):
    from borestudy.acoustics import operator

    def refuse(*arguments, **options):
        raise AssertionError("a sparse system was factorised")

    monkeypatch.setattr(operator, "factorise_symmetric", refuse)
    termination = build_termination("open flanged", mouthpiece.shank_radius)
    assert np.isfinite(input_impedance(mouthpiece, termination, FREQUENCIES)).all()


def test_stored_two_port_is_the_same_without_a_mesh(mouthpiece, tmp_path):
    path = tmp_path / "two_port.npz"
    save_two_port(mouthpiece, path)
    again = load_two_port(path)
    for level in range(3):
        np.testing.assert_array_equal(
            two_port_matrix(again, FREQUENCIES, level),
            two_port_matrix(mouthpiece, FREQUENCIES, level),
        )
    assert again.air == mouthpiece.air
    assert again.finest.unknowns == mouthpiece.finest.unknowns
    assert path.stat().st_size < 1e6


def test_direct_two_port_is_stored_with_its_full_matrices(
    dry_air, meshes, tmp_path, monkeypatch, caplog
):
    reduce_operator = module.reduce_operator
    monkeypatch.setattr(
        module,
        "reduce_operator",
        lambda *given: reduce_operator(*given, largest_snapshot_count=2),
    )
    direct = solve_two_port([meshes.mouthpiece(1.0)], dry_air, 50, 6000)
    save_two_port(direct, tmp_path / "two_port.npz")
    again = load_two_port(tmp_path / "two_port.npz")
    assert again.finest.operator.unknowns == direct.finest.unknowns
    np.testing.assert_allclose(
        two_port_matrix(again, [700.0]), two_port_matrix(direct, [700.0]), rtol=1e-12
    )


@pytest.mark.parametrize(
    ("lowest", "highest", "message"),
    [
        (0, 5000, r"resonance.from must be above 0 Hz; found 0 Hz to 5000 Hz"),
        (-10, 5000, r"resonance.from must be above 0 Hz"),
        (500, 50, r"resonance.to must be above resonance.from; found 500 Hz to 50 Hz"),
    ],
)
def test_impossible_ranges_are_refused(dry_air, lowest, highest, message):
    with pytest.raises(ValueError, match=message):
        solve_two_port([], dry_air, lowest, highest)


def test_port_that_does_not_meet_the_wall_is_refused(dry_air, meshes):
    mesh = meshes.tube(4e-3, 0.05, 10, 2)
    names = dict(mesh.boundaries)
    names["wall"] = names["wall"][:2]
    broken = MeshTri2(mesh.doflocs, mesh.t, _boundaries=names)
    with pytest.raises(ValueError, match="must meet 'wall' at one edge"):
        solve_two_port([broken], dry_air, 50, 5000)


def test_unknown_termination_is_refused_with_the_ones_allowed():
    with pytest.raises(ValueError, match=r"found 'plugged'; allowed is closed, open, "):
        build_termination("plugged", 4e-3)  # type: ignore[arg-type]


def test_air_column_far_from_the_shank_is_refused_and_a_step_is_said(dry_air):
    far = air_column(np.array([0, 1.0]), np.full(2, 8e-3))
    with pytest.raises(ValueError, match=r"starts with 16 mm where the shank ends with 9.2 mm"):
        build_termination("air column", 4.6e-3, column=far)
    near = air_column(np.array([0, 1.0]), np.full(2, 5e-3))
    assert (
        "step from the shank's 9.200 mm"
        in build_termination("air column", 4.6e-3, column=near).note
    )
