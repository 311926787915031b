"""Cones against tabulated roots and the tube they narrow down to."""

import numpy as np
import pytest

from borestudy.closed_form.cone import (
    cone_transfer_matrix,
    plane_face_stretch,
    resonances,
    transfer_matrix_slice,
)
from borestudy.closed_form.tube import transfer_matrix

NARROW, WIDE, LENGTH = 1.83e-3, 4.6e-3, 0.072
OMEGA = 2 * np.pi * np.array([80.0, 900.0, 3000.0])


@pytest.mark.parametrize(
    ("ends", "frequencies"),
    [
        ("closed-closed", [2569.781, 4873.344]),
        ("closed-open", [1653.0785, 3799.3069]),
        ("open-closed", [797.0125, 3477.2783]),
        ("open-open", [2384.306, 4768.611]),
    ],
)
def test_lossless_resonances_are_the_tabulated_ones(dry_air, ends, frequencies):
    found = resonances(NARROW, WIDE, LENGTH, dry_air.sound_speed, ends)
    np.testing.assert_allclose(found, frequencies, rtol=3e-7)


@pytest.mark.parametrize("ends", ["closed-closed", "closed-open", "open-closed", "open-open"])
def test_chain_matrix_resonates_where_the_roots_are(dry_air, ends):
    frequency = resonances(NARROW, WIDE, LENGTH, dry_air.sound_speed, ends, 1)
    omega = 2 * np.pi * frequency
    (a, b), (c, d) = cone_transfer_matrix(NARROW, WIDE, LENGTH, omega, dry_air, lossless=True)[0]
    plane = dry_air.density * dry_air.sound_speed / (np.pi * NARROW * WIDE)
    vanishing = {
        "closed-closed": c * plane, "closed-open": d, "open-closed": a, "open-open": b / plane
    }  # fmt: skip
    assert abs(vanishing[ends]) < 1e-9


def test_chain_matrix_is_reciprocal_in_both_directions(dry_air):
    forward = cone_transfer_matrix(NARROW, WIDE, LENGTH, OMEGA, dry_air)
    backward = cone_transfer_matrix(WIDE, NARROW, LENGTH, OMEGA, dry_air)
    np.testing.assert_allclose(np.linalg.det(forward), 1, rtol=1e-10)
    np.testing.assert_allclose(backward[:, 0, 0], forward[:, 1, 1], rtol=1e-10)
    np.testing.assert_allclose(backward[:, 0, 1], forward[:, 0, 1], rtol=1e-10)


def test_cone_of_no_slope_is_a_tube(dry_air):
    almost = transfer_matrix_slice(3e-3, 3e-3 * (1 + 1e-7), 0.05, OMEGA, dry_air)
    tube = transfer_matrix(3e-3, 0.05, OMEGA, dry_air)
    np.testing.assert_allclose(almost, tube, rtol=1e-6)


def test_slices_converge_to_second_order(dry_air):
    fine = cone_transfer_matrix(NARROW, WIDE, LENGTH, OMEGA, dry_air, ratio_per_slice=1.001)
    errors = []
    for ratio in (1.2, 1.1):
        chain = cone_transfer_matrix(NARROW, WIDE, LENGTH, OMEGA, dry_air, ratio_per_slice=ratio)
        errors.append(np.abs(chain / fine - 1).max())
    slices = [np.ceil(np.log(WIDE / NARROW) / np.log(ratio)) for ratio in (1.2, 1.1)]
    order = np.log(errors[0] / errors[1]) / np.log(slices[1] / slices[0])
    assert order == pytest.approx(2, abs=0.15)


def test_plane_faces_lie_farther_from_the_apex_than_the_axis_says():
    # mean of 1/cos φ over the face of a wide cone, by brute force
    share = np.sqrt((np.arange(20000) + 0.5) / 20000)
    slope = 0.2
    mean = np.mean(np.sqrt(1 + (slope * share) ** 2))
    assert plane_face_stretch(1.0, 1.2, 1.0) == pytest.approx(mean, abs=2e-4)
