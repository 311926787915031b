"""The reduced basis: accuracy at frequencies it never saw, and its way out where it fails."""

import logging
from pathlib import Path

import numpy as np
import pytest

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import impedance_matrix
from borestudy.acoustics.reduced_basis import reduce_operator
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[2] / "configs"
HELD_OUT = np.random.default_rng(7).uniform(50, 6000, 50)


@pytest.mark.parametrize("refinement", [1.0, 1.5, 3.0])
@pytest.mark.parametrize("walls", ["plain", "curved"])
def test_impedance_at_held_out_frequencies_is_that_of_direct_solves(
    dry_air, meshes, walls, refinement
):
    operator = assemble(meshes.mouthpiece(refinement), walls)
    reduced, reduction, _ = reduce_operator(operator, dry_air, 50, 6000)
    omega = 2 * np.pi * HELD_OUT
    exact = impedance_matrix(operator, omega, dry_air)
    np.testing.assert_allclose(impedance_matrix(reduced, omega, dry_air), exact, rtol=1e-6)
    assert reduced.unknowns < 100
    assert not reduction.direct


def test_reported_error_bounds_the_tolerance(dry_air, meshes):
    _, reduction, _ = reduce_operator(assemble(meshes.mouthpiece(1.0)), dry_air, 50, 5000)
    assert 0 < reduction.held_out_error < 1e-6
    assert reduction.solve_residual < 1e-8
    assert len(reduction.snapshots) < 20


def test_too_small_a_basis_falls_back_to_direct_solves_and_says_so(dry_air, meshes, caplog):
    operator = assemble(meshes.mouthpiece(1.0))
    with caplog.at_level(logging.WARNING):
        kept, reduction, basis = reduce_operator(
            operator, dry_air, 50, 6000, largest_snapshot_count=3
        )
    assert kept is operator
    assert basis is None
    assert reduction.direct
    assert "every frequency is solved directly" in caplog.text


def test_basis_serves_slightly_different_air(dry_air, meshes):
    from dataclasses import replace

    operator = assemble(meshes.mouthpiece(1.0))
    reduced, _, _ = reduce_operator(operator, dry_air, 50, 5000)
    warmer = replace(dry_air, sound_speed=345.1, density=1.192, viscosity=1.83e-5)
    omega = 2 * np.pi * np.array([90.0, 800.0, 2500.0, 4500.0])
    exact = impedance_matrix(operator, omega, warmer)
    np.testing.assert_allclose(impedance_matrix(reduced, omega, warmer), exact, rtol=1e-6)


@pytest.mark.parametrize("study", ["entry-rounding", "overall-length", "measured"])
@pytest.mark.parametrize("range_", [(50, 5000), (20, 12000)], ids=["usual", "wide"])
def test_bores_of_the_shipped_studies_need_a_dozen_snapshots(meshed, study, range_):
    case = load_study(CONFIGS / f"{study}.yaml").cases()[-1]
    air, operator = case.build_air(), assemble(meshed(case.build_bore(), 0))
    reduced, reduction, _ = reduce_operator(operator, air, *range_)
    omega = 2 * np.pi * np.random.default_rng(5).uniform(*range_, 12)
    exact = impedance_matrix(operator, omega, air)
    np.testing.assert_allclose(impedance_matrix(reduced, omega, air), exact, rtol=1e-6)
    assert not reduction.direct
    assert len(reduction.snapshots) < 16
    assert reduced.unknowns < 50
