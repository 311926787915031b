"""Outlines, labels and case folders."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from borestudy.acoustics.result import AcousticResult
from borestudy.bore import Passage
from borestudy.drawing.bore import outline, sample_curve
from borestudy.flow.fields import field_name
from borestudy.flow.result import FlowAtRate, FlowResult
from borestudy.quantity import Quantity
from borestudy.report.figures.case import FIELDS, read_case, reference_rate
from borestudy.results.case import CaseResults
from borestudy.results.estimate import estimated_flow
from borestudy.units import FLOW_RATE, parse

from .conftest import a_peak

DROP = Quantity(100.0, 1.0, "Pa")
WAY = Passage(
    throat_start=3.0, throat_end=4.0, end=24.0, run_in=0.0, cup_area=16.0, end_area=6.0,
    cone_angle=4.0,
)  # fmt: skip


def test_a_quarter_circle_as_a_rational_conic_stays_on_its_circle() -> None:
    points = sample_curve([[1, 0], [1, 1], [0, 1]], [1, np.sqrt(0.5), 1], 33)
    np.testing.assert_allclose(np.hypot(*points.T), 1.0, atol=1e-14)
    np.testing.assert_allclose(points[[0, -1]], [[1, 0], [0, 1]], atol=1e-14)


def test_a_straight_segment_is_its_two_ends() -> None:
    assert len(sample_curve([[0, 1], [2, 3]], [1, 1], 50)) == 2


@dataclass
class Piece:
    points: np.ndarray
    part: str
    weights: np.ndarray = field(default_factory=lambda: np.ones(2))


@dataclass
class Pieces:
    segments: list[Piece]


def test_an_outline_is_in_millimetres_and_names_the_parts() -> None:
    bore = Pieces(
        [
            Piece(np.array([[0, 0.008], [0.010, 0.002]]), "cup"),
            Piece(np.array([[0.010, 0.002], [0.015, 0.002]]), "throat"),
        ]
    )
    drawn = outline(bore)
    assert drawn.parts == {"cup": (0.0, 10.0), "throat": (10.0, 15.0)}
    assert drawn.throat_start_mm == pytest.approx(10.0)
    assert drawn.throat_diameter_mm == pytest.approx(4.0)


def solved(*rates: FlowAtRate) -> FlowResult:
    """The best estimate at some rates."""
    return FlowResult(model="estimate", rates=rates)


def row(rate: float, reynolds: float, **changes: Any) -> FlowAtRate:
    """One rate [L/s] of a solution."""
    scales = {"throat_velocity_m_per_s": 1.0, "dynamic_pressure_Pa": 1.0, "mach_number": 0.1}
    return FlowAtRate(flow_rate_L_per_s=rate, throat_reynolds=reynolds, **scales, **changes)


def test_a_case_folder_gives_the_fields_and_the_mesh_of_the_estimate(tmp_path: Path) -> None:
    (tmp_path / "mesh").mkdir()
    for name in ("mesh/estimate-0.msh", "mesh/estimate-1.msh", "mesh/turbulent-2.msh"):
        (tmp_path / name).touch()
    rows = [
        row(0.2, 7000.0, converged=False, field="0.2.vtu"),
        row(0.3, 7000.0, converged=True, pressure_drop=DROP, field="0.3.vtu"),
    ]
    wall = outline(Pieces([Piece(np.ones((2, 2)), "throat")]))
    extremes = {word: solved(rows[1], rows[1]) for word in ("laminar", "turbulent")}
    flow = estimated_flow(solved(*rows), WAY, extremes=extremes)
    view = read_case(tmp_path, CaseResults("a", flow=flow), wall)
    assert view.flow_fields == {1: tmp_path / "flow-estimate" / "0.3.vtu"}
    assert view.flow_at(1) is rows[1]
    assert view.flow_at(0) is None
    assert view.mesh_path == tmp_path / "mesh" / "estimate-1.msh"
    heard = AcousticResult(resonances=(a_peak(820.0, 5e7, "first.vtu"),))
    bare = read_case(tmp_path, CaseResults("a", acoustics=heard, flow=flow), wall, "", False)
    assert (bare.flow_fields, bare.acoustic_field) == ({}, None)
    assert bare.flow_at(1) is rows[1]


def test_the_acoustic_field_is_the_one_its_highest_peak_names(tmp_path: Path) -> None:
    wall = outline(Pieces([Piece(np.ones((2, 2)), "throat")]))
    peaks = (a_peak(90.0, 1e7, "first.vtu"), a_peak(150.0, 2e7), a_peak(820.0, 5e7, "highest.vtu"))
    for resonances, name in ((peaks, "highest.vtu"), (peaks[:2], "first.vtu"), ((), None)):
        results = CaseResults("a", acoustics=AcousticResult(resonances=resonances))
        found = read_case(tmp_path, results, wall).acoustic_field
        assert found == (tmp_path / "acoustics" / name if name else None)


def test_ten_litres_a_minute_have_their_field(tmp_path: Path) -> None:
    # As a rate of the study, 1/6 L/s, which no number printed with six digits gives back.
    rate = parse("10 L/min", FLOW_RATE)
    found = row(1e3 * rate, 1000.0, converged=True, pressure_drop=DROP, field=field_name(rate))
    wall = outline(Pieces([Piece(np.ones((2, 2)), "throat")]))
    flow = estimated_flow(solved(found), WAY)
    view = read_case(tmp_path, CaseResults("a", flow=flow), wall)
    assert view.flow_fields[0] == tmp_path / FIELDS / field_name(rate)


def test_the_reference_rate_is_the_comparisons_else_the_greatest() -> None:
    flow = pd.DataFrame({"flow_rate_L_per_s": [0.1, 0.3]})
    assert reference_rate(pd.DataFrame({"flow_rate_L_per_s": [0.1]}), flow) == 0.1
    assert reference_rate(pd.DataFrame({"case": ["a"]}), flow) == 0.3
