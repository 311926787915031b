"""Cones against Webster's equation solved by collocation, and the tube they narrow down to."""

import numpy as np
import pytest
from scipy.linalg import eigvals

from borestudy.closed_form.cone import (
    cone_transfer_matrix,
    plane_face_stretch,
    resonances,
    transfer_matrix_slice,
)
from borestudy.closed_form.tube import transfer_matrix

NARROW, WIDE, LENGTH = 1.83e-3, 4.6e-3, 0.072
OMEGA = 2 * np.pi * np.array([80.0, 900.0, 3000.0])


def collocated(ends, sound_speed, points=32):
    """First two resonances [Hz] of (r² p')' + k² r² p = 0, r linear, by Chebyshev collocation.

    An end that is closed has p' = 0, an open one p = 0; no formula for a cone is used.
    """
    index = np.arange(points + 1)
    nodes = np.cos(np.pi * index / points)
    weight = np.where((index == 0) | (index == points), 2.0, 1.0) * (-1.0) ** index
    difference = nodes[:, None] - nodes + np.eye(points + 1)
    slope = weight[:, None] / weight / difference
    slope -= np.diag(slope.sum(axis=1))
    slope *= -2 / LENGTH  # nodes run from 1 at the narrow end to −1
    radius = NARROW + (WIDE - NARROW) * (1 - nodes) / 2
    left = -(slope @ (radius[:, None] ** 2 * slope)) / radius[:, None] ** 2
    right = np.eye(points + 1)
    for row, word in zip((0, points), ends.split("-"), strict=True):
        left[row] = slope[row] if word == "closed" else right[row]
        right[row] = 0
    squares = eigvals(left, right)
    squares = squares[np.isfinite(squares) & (squares.real > 1)].real
    return np.sqrt(np.sort(squares)[:2]) * sound_speed / (2 * np.pi)


@pytest.mark.parametrize("ends", ["closed-closed", "closed-open", "open-closed", "open-open"])
def test_lossless_resonances_are_those_of_websters_equation(dry_air, ends):
    found = resonances(NARROW, WIDE, LENGTH, dry_air.sound_speed, ends)
    np.testing.assert_allclose(found, collocated(ends, dry_air.sound_speed), rtol=1e-8)


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
