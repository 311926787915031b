"""Distance to the wall."""

import numpy as np
import pytest

from borestudy.flow.discretisation import discretise
from borestudy.flow.models.spalart_allmaras.distance import wall_distance, wall_pieces


def test_distance_to_a_step_is_exact_beside_its_faces_and_around_its_edge():
    begin = np.array([[-2.0, 0.0, 0.0], [1.0, 1.0, 0.5]])
    end = np.array([[0.0, 0.0, 2.0], [1.0, 0.5, 0.5]])
    points = np.array([[-1.0, -0.1, -0.3, 1.0], [0.2, 0.7, 0.1, 0.0]])
    expected = [0.8, 0.1, 0.5, 0.5]
    assert wall_distance(begin, end, points) == pytest.approx(expected, rel=1e-14)


def test_search_among_many_unequal_pieces_misses_none():
    generator = np.random.default_rng(1)
    corners = np.cumsum(generator.uniform(0.001, 0.4, (2, 81)) ** 2, axis=1)
    points = generator.uniform(0, corners.max(), (2, 60))
    begin, end = corners[:, :-1], corners[:, 1:]
    along = end - begin
    share = np.linspace(0, 1, 2001)
    line = (begin[:, :, None] + along[:, :, None] * share).reshape(2, -1)
    brute = np.array([np.hypot(*(line - point[:, None])).min() for point in points.T])
    assert wall_distance(begin, end, points) == pytest.approx(brute, abs=1e-4)


def test_distance_in_a_pipe_is_radius_less_position(short_pipe):
    space = discretise(short_pipe(6), 1.0)
    pieces = wall_pieces(space)
    begin, end = pieces.begin, pieces.end
    points = np.asarray(space.velocity_basis.global_coordinates()).reshape(2, -1)
    assert wall_distance(begin, end, points) == pytest.approx(0.5 - points[1], rel=1e-12)
