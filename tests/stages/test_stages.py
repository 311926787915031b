"""The stages between the physics and the files."""

import subprocess
import sys

import numpy as np
import pytest

from borestudy.acoustics.result import AcousticResult
from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions, cylinder
from borestudy.closed_form.handbook import SMOOTH_ENTRY
from borestudy.files import read_json
from borestudy.flow.regime import rate_scale
from borestudy.mesh import ACOUSTICS, write_meshes
from borestudy.records import read_record
from borestudy.results.check import Check
from borestudy.results.estimate import DROPS
from borestudy.results.handbooks import handbook_at, handbook_dimensions
from borestudy.stages.acoustics import resonance_stage, two_port_stage
from borestudy.stages.check import refuse_impossible
from borestudy.stages.geometry import read_bore, write_bore
from borestudy.stages.plan import air_name
from borestudy.stages.verification import failures, write_checks
from borestudy.study import StudyError, study_from_mapping

MM = 1e-3
BORE = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "3.66 mm", "length": "5 mm", "entry": "rounded 0.5 mm"},
    "backbore": {"end_diameter": "9 mm"},
}


def bore(entry=Entry(), cup_shape=0.0):  # noqa: B008  # frozen
    return bore_from_dimensions(
        length=88 * MM, cup_diameter=16.2 * MM, cup_depth=10.8 * MM, cup_shape=cup_shape,
        throat_diameter=3.66 * MM, throat_length=5 * MM, entry=entry,
        backbore_end_diameter=9 * MM, backbore_taper="straight",
    )  # fmt: skip


def test_a_bore_comes_back_from_its_file_to_the_last_digit(tmp_path):
    written = bore(Entry("rounded", (0.5 * MM,)), cup_shape=0.6)
    write_bore(written, tmp_path / "bore.json")
    read = read_bore(tmp_path / "bore.json")
    assert read_json(tmp_path / "bore.json")["doubtful_stations"] == []
    assert read.entry == written.entry
    assert read.parts == written.parts
    for one, other in zip(read.segments, written.segments, strict=True):
        np.testing.assert_array_equal(one.points, other.points)
        np.testing.assert_array_equal(one.weights, other.weights)


def test_resonances_name_the_fields_that_are_written_of_them(tmp_path):
    meshes = [tmp_path / f"acoustics-{level}.msh" for level in range(2)]
    write_meshes(bore(Entry("rounded", (0.5 * MM,))), meshes, ACOUSTICS.at("draft"))
    stored, record = tmp_path / "two_port.npz", tmp_path / "acoustics.json"
    column = tmp_path / "pipe.csv"
    column.write_text("position_mm,diameter_mm\n0,9\n1300,9\n")
    two_port_stage(meshes, humid_air(), (60.0, 2000.0), "curved", stored)
    resonance_stage(
        name="a", stored=stored, mesh=meshes[-1], termination="air column", air_column=column,
        frequencies=[500.0, 600.0], fundamental=None, source="", results=record,
        impedance=tmp_path / "impedance.csv", fields=tmp_path / "acoustics",
    )  # fmt: skip
    peaks = read_record(record, AcousticResult).resonances
    named = {place: peak.field for place, peak in enumerate(peaks) if peak.field}
    heights = [peak.impedance_peak.value for peak in peaks]
    assert np.argmax(heights) > 0
    assert set(named) == {0, np.argmax(heights)}
    assert {path.name for path in (tmp_path / "acoustics").iterdir()} == set(named.values())


def test_a_conical_cup_is_a_funnel_of_its_own_angle():
    dimensions = handbook_dimensions(bore())
    slope = (16.2 - 3.66) / 2 / 10.8
    assert dimensions.funnel_angle == pytest.approx(2 * np.degrees(np.arctan(slope)), rel=1e-9)
    assert dimensions.entry_radius == (0.0, 0.0)
    assert dimensions.backbore_length == pytest.approx(72.2 * MM)


def test_an_ellipse_is_between_its_two_semi_axes():
    dimensions = handbook_dimensions(bore(Entry("elliptical", (2 * MM, 1 * MM))))
    assert dimensions.entry_radius == (1 * MM, 2 * MM)


def test_a_chamfers_length_and_angle_to_the_axis_are_those_of_the_bores_wall():
    """The handbooks' bevel (`fluids.fittings.entrance_beveled`) runs from 0 to 90° to the axis."""
    chamfered = bore(Entry("chamfered", (0.5 * MM,), np.radians(20)))
    (face,) = (segment for segment in chamfered.segments if segment.part == "entry")
    along, across = face.stop - face.start
    angle = np.degrees(np.arctan2(-across, along))
    assert handbook_dimensions(chamfered).chamfer == pytest.approx((along, angle))
    assert angle == pytest.approx(20.0)


def test_what_is_known_of_a_rate_before_it_is_solved_is_scaled_by_the_throat():
    air, dimensions = humid_air(293.15), handbook_dimensions(bore())
    slow, fast = (rate_scale(air, rate, dimensions.throat_diameter) for rate in (1e-4, 2e-4))
    velocity = 1e-4 / (np.pi / 4 * (3.66 * MM) ** 2)
    assert slow.reynolds == pytest.approx(velocity * 3.66 * MM / air.kinematic_viscosity, rel=1e-9)
    assert fast.reynolds == pytest.approx(2 * slow.reynolds)
    assert fast.pressure == pytest.approx(air.density * (2 * velocity) ** 2)
    for scale in (slow, fast):
        handbook = handbook_at(dimensions, scale.reynolds, 0.5 * scale.pressure)
        whole, *halves = (handbook[drop] for drop in DROPS)
        assert whole.low == pytest.approx(sum(half.low for half in halves))
        assert whole.high == pytest.approx(sum(half.high for half in halves))
        assert whole.low < whole.high


def test_a_measured_edge_may_be_anything_from_square_to_smooth():
    measured = cylinder(2 * MM, 20 * MM)
    assert handbook_dimensions(measured).entry_radius == (0.0, SMOOTH_ENTRY * 4 * MM)


def test_cases_of_one_air_share_its_name():
    study = study_from_mapping(
        {"bore": BORE, "vary": {"air.temperature": ["20 degC", "30 degC"], "cup.shape": [0, 1]}},
        name="air",
    )
    assert len({air_name(case) for case in study.cases()}) == 2


def test_every_impossible_bore_of_a_study_is_named():
    study = study_from_mapping(
        {"bore": BORE, "vary": {"cup.depth": ["10 mm", "100 mm", "200 mm"]}}, name="deep"
    )
    with pytest.raises(StudyError) as caught:
        refuse_impossible(study)
    lines = str(caught.value).splitlines()
    assert len(lines) == 2
    assert all("cup_depth" in line and "bore.cup.depth" in line for line in lines)


def test_rates_beyond_mach_0_3_are_refused_before_anything_is_computed():
    flow = {"rates": "0.1, 1.5 L/s"}
    refuse_impossible(
        study_from_mapping({"bore": BORE, "flow": {"rates": "0.1, 0.5 L/s"}}, name="s")
    )
    with pytest.raises(StudyError, match=r"flow.rates: found 1\.5 L/s.*Mach 0\.3"):
        refuse_impossible(study_from_mapping({"bore": BORE, "flow": flow}, name="fast"))


def test_a_check_that_fails_is_told_with_its_deviation(tmp_path):
    good = Check("pipe", "resonance", "Hz", 100.001, 100.0, 0.1, "theory")
    bad = Check("cone", "resonance", "Hz", 103.0, 100.0, 0.1, "theory")
    write_checks([good, bad], tmp_path / "checks.csv")
    count, failed = failures(tmp_path / "checks.csv")
    assert count == 2
    assert len(failed) == 1
    assert "cone" in failed[0]
    assert "3 %" in failed[0]


def test_a_refusal_is_one_line_on_the_terminal_and_a_traceback_in_the_log(tmp_path):
    program = f"""
import os
from borestudy.stages.jobs import log_to
log_to({str(tmp_path / "logs" / "job.log")!r}, "flow base")
os.write(1, b"from compiled code\\n")
raise ValueError("flow.rates: found 9 L/s; allowed is less")
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert ran.returncode != 0
    assert ran.stdout == ""
    assert ran.stderr == "flow base: flow.rates: found 9 L/s; allowed is less\n"
    log = (tmp_path / "logs" / "job.log").read_text()
    assert log.startswith("from compiled code\nTraceback")
