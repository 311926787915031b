"""Outlines, labels and case folders."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from borestudy.drawing.bore import outline, sample_curve
from borestudy.flow.fields import field_name
from borestudy.report.figures.case import read_case, reference_rate
from borestudy.results.case import CaseResults, flow_result
from borestudy.results.merged_flow import KnownRate, MergedFlow, Mode, merged_flow
from borestudy.units import parse_flow_rate


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


def _flow(row: dict, mode: Mode) -> MergedFlow:
    """One rate that both solutions have alike."""
    known = KnownRate(
        flow_rate_L_per_s=row["flow_rate_L_per_s"],
        throat_reynolds=row["throat_reynolds"],
        throat_velocity_m_per_s=1.0,
        dynamic_pressure_Pa=1.0,
        mach_number=0.1,
    )
    results = [
        flow_result({"rates": [row]}, word, [row["flow_rate_L_per_s"]])
        for word in ("laminar", "turbulent")
    ]
    return merged_flow(*results, [known], mode)


def test_a_case_folder_gives_the_fields_and_the_mesh_of_its_solution(tmp_path: Path) -> None:
    for folder in ("flow", "closure", "mesh"):
        (tmp_path / folder).mkdir()
    for name in ("flow/0.3.vtu", "closure/0.3.vtu", "mesh/laminar-1.msh", "mesh/turbulent-1.msh"):
        (tmp_path / name).touch()
    row = {"flow_rate_L_per_s": 0.3, "throat_reynolds": 7000.0, "converged": True}
    row |= {"field": "0.3.vtu", "pressure_drop_Pa": 10.0}
    wall = outline(Pieces([Piece(np.ones((2, 2)), "throat")]))
    modes: tuple[tuple[Mode, str], ...] = (("both", "flow"), ("turbulent", "closure"))
    for mode, folder in modes:
        flow = _flow(row, mode)
        view = read_case(tmp_path, CaseResults("a", flow=flow), wall)
        assert view.flow_field(0.3) == tmp_path / folder / "0.3.vtu"
        assert view.flow_field(0.2) is None
        assert view.rate(0.3)["solution"] == ("laminar" if mode == "both" else "turbulent")
        assert view.acoustics == {}
        kind = "turbulent" if mode == "turbulent" else "laminar"
        assert view.mesh_path == tmp_path / "mesh" / f"{kind}-1.msh"


def test_ten_litres_a_minute_have_their_field(tmp_path: Path) -> None:
    # As a rate of the study, 1/6 L/s, which no number printed with six digits gives back.
    rate = 1e3 * parse_flow_rate("10 L/min")
    row = {"flow_rate_L_per_s": rate, "throat_reynolds": 3000.0, "converged": True}
    row |= {"field": field_name(parse_flow_rate("10 L/min")), "pressure_drop_Pa": 10.0}
    wall = outline(Pieces([Piece(np.ones((2, 2)), "throat")]))
    flow = _flow(row, "laminar")
    view = read_case(tmp_path, CaseResults("a", flow=flow), wall)
    assert view.flow_field(rate) == tmp_path / "flow" / str(row["field"])


def test_the_reference_rate_is_the_comparisons_else_the_greatest() -> None:
    flow = pd.DataFrame({"flow_rate_L_per_s": [0.1, 0.3]})
    assert reference_rate(pd.DataFrame({"flow_rate_L_per_s": [0.1]}), flow) == 0.1
    assert reference_rate(pd.DataFrame({"case": ["a"]}), flow) == 0.3
