"""Bores at the limits of meshing: refused by one function beforehand, or meshed within a bound."""

import json
from itertools import pairwise

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.bore.bore import Bore
from borestudy.bore.segment import line
from borestudy.mesh import ACOUSTICS, LAMINAR, MeshError, read_mesh, write_mesh
from borestudy.stages.check import refuse_impossible
from borestudy.stages.flow import flow_stage
from borestudy.stages.geometry import write_halves
from borestudy.study import StudyError, study_from_mapping

DEMONSTRATION = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "square"},
    "backbore": {"end_diameter": "9.0 mm", "taper": "straight"},
}
#: Positions and diameters [mm].
THROAT_THAT_ENDS_IN_A_STEP = [
    (0, 12), (40, 12), (62.685, 4), (102.685, 4), (102.685, 12), (200, 12)
]  # fmt: skip
WIDE_STEP = [(0, 16), (10, 3.66), (15, 3.66), (15, 9), (88, 9)]


def through(stations) -> Bore:
    points = [(1e-3 * x, 0.5e-3 * d) for x, d in stations]
    names = ["cup", "throat", "backbore"]
    narrow = min(d for _, d in stations)
    parts, seen = [], 0
    for (_, one), (_, other) in pairwise(stations):
        seen = max(seen, 1 if one == other == narrow else 2 if seen else 0)
        parts.append(names[seen])
    return Bore(
        [line(a, b, part) for a, b, part in zip(points[:-1], points[1:], parts, strict=True)]
    )


def study(tmp_path, rows, join="straight"):
    lines = [f"{position},{diameter}" for position, diameter in rows]
    (tmp_path / "bore.csv").write_text("\n".join(["position_mm,diameter_mm", *lines]) + "\n")
    bore = {"stations": "bore.csv", "join": join, "outliers": "keep"}
    return study_from_mapping({"bore": bore}, tmp_path, "limits")


@pytest.mark.parametrize(
    ("rows", "kind"),
    [(THROAT_THAT_ENDS_IN_A_STEP, "throat"), (WIDE_STEP, "wide")],
    ids=["throat", "wide"],
)
def test_turbulent_flow_past_a_step_is_meshed_within_the_bound(tmp_path, rows, kind):
    """With rows along the wall the first of these took more than 20 GB."""
    bore = through(rows)
    paths = [tmp_path / "0.msh", tmp_path / "1.msh"]
    flow_stage(
        model="turbulent",
        bore=bore,
        meshes=paths,
        air=humid_air(293.15),
        rates=[0.05e-3],
        inlet="uniform",
        resolution="medium",
        source="",
        results=tmp_path / "flow.json",
        fields=tmp_path / "fields",
    )
    found = json.loads((tmp_path / "flow.json").read_text())
    if not found["boundary_layer_mesh"]:
        assert "plain triangles" in found["warnings"][0]
        assert "GB of memory" in found["warnings"][0]
    assert found["boundary_layer_mesh"] == (kind == "wide")
    for path in paths:
        mesh = read_mesh(path)
        area = sum(
            0.5 * (b[0] - a[0]) * (a[1] + b[1])
            for a, b in ((s.start, s.stop) for s in bore.segments)
        )
        corners = mesh.p[:, mesh.t[:3]]
        sides = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        found_area = 0.5 * np.abs(sides[0][0] * sides[1][1] - sides[0][1] * sides[1][0]).sum()
        assert found_area == pytest.approx(area, rel=1e-9)


def slot(width):
    return [(0, 16), (10, 3.66), (12, 3.66), (12, 4.5), (12 + width, 4.5),
            (12 + width, 3.66), (15, 3.66), (88, 9)]  # fmt: skip


def test_a_slot_too_narrow_to_draw_is_refused_by_check_and_by_the_mesh(tmp_path):
    with pytest.raises(StudyError, match=r"found a stretch .* 0\.0001 mm long at 12 mm; allowed"):
        refuse_impossible(study(tmp_path, slot(0.0001)))
    with pytest.raises(MeshError, match="found a stretch"):
        write_mesh(through(slot(0.0001)), tmp_path / "slot.msh", ACOUSTICS, 1)


def test_the_narrowest_slot_that_check_passes_is_meshed(tmp_path):
    narrow = study(tmp_path, slot(0.0011))
    refuse_impossible(narrow)
    bore = narrow.cases()[0].build_bore()
    for preset in (ACOUSTICS, LAMINAR):
        write_mesh(bore, tmp_path / "slot.msh", preset, preset.finest)
    write_halves(bore, [tmp_path / "front.msh", tmp_path / "back.msh"], ACOUSTICS.at("medium"))


def noisy(count):
    """A measured bore read with 0.02 mm of noise [mm]."""
    positions = np.linspace(0, 88, count)
    exact = np.interp(positions, [0, 10, 11, 16, 88], [16, 8, 3.66, 3.66, 9])
    noise = np.random.default_rng(1).normal(0, 0.02, count)
    return list(zip(positions.round(5), (exact + noise).round(5), strict=True))


def test_thousands_of_noisy_stations_are_refused_with_their_number(tmp_path):
    with pytest.raises(
        StudyError,
        match=r"found 200\d stretches of the wall; allowed are 1000, .* one station in 3",
    ):
        refuse_impossible(study(tmp_path, noisy(2000)))


def test_a_joint_beside_the_middle_of_the_throat_makes_no_sliver(tmp_path):
    rows = [(0, 16), (10, 3.66), (12.5 + 2e-7, 3.66), (15, 3.66), (88, 9)]
    halves = [tmp_path / "front.msh", tmp_path / "back.msh"]
    write_halves(through(rows), halves, ACOUSTICS.at("coarse"))


@pytest.mark.parametrize(
    "change",
    [{"length": "15.9 mm"}, {"cup": {"diameter": "16.2 mm", "depth": "82.9 mm", "shape": 0.6}}],
)
@pytest.mark.parametrize("entry", ["square", "rounded 0.25 mm"])
def test_a_backbore_of_a_tenth_of_a_millimetre_is_meshed(tmp_path, change, entry):
    bore = DEMONSTRATION | change
    bore["throat"] = bore["throat"] | {"entry": entry}
    short = study_from_mapping({"bore": bore}, tmp_path, "short")
    refuse_impossible(short)
    built = short.cases()[0].build_bore()
    for preset in (ACOUSTICS, LAMINAR):
        write_mesh(built, tmp_path / "short.msh", preset, preset.finest - 1)


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"cup": {"diameter": "16.2 mm", "depth": "0.0001 mm"}}, "cup"),
        ({"length": "15.8001 mm"}, "backbore"),
    ],
    ids=["cup", "backbore"],
)
def test_a_part_too_short_to_draw_is_refused_by_check_and_by_the_mesh(tmp_path, change, part):
    """Its wall is long enough, but not its part of the axis."""
    short = study_from_mapping({"bore": DEMONSTRATION | change}, tmp_path, "limits")
    told = rf"found a {part} 0\.0001 mm long; allowed is 0\.001 mm or longer, for example"
    with pytest.raises(StudyError, match=told):
        refuse_impossible(short)
    with pytest.raises(MeshError, match=told):
        write_mesh(short.cases()[0].build_bore(), tmp_path / "0.msh", ACOUSTICS, -1)
