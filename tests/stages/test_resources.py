"""What jobs of cases ask a cluster for, against the meshes that gmsh makes."""

from pathlib import Path

import pytest

from borestudy.mesh import ACOUSTICS, ESTIMATE, LAMINAR, TURBULENT, read_mesh, write_mesh
from borestudy.stages.layout import Layout
from borestudy.stages.running.resources import LEAST_MB, growing, memory_MB, minutes
from borestudy.stages.running.triangles import expected_triangles
from borestudy.study import load_study, study_from_mapping

CONFIGS = Path(__file__).parents[2] / "configs"
PRESETS = {preset.kind: preset for preset in (ACOUSTICS, ESTIMATE, LAMINAR, TURBULENT)}


def layout(name, **changes):
    study = load_study(CONFIGS / f"{name}.yaml")
    if changes:
        study = study_from_mapping(study.resolved() | changes, CONFIGS, name)
    return Layout(study, f"results/{name}")


@pytest.mark.parametrize(
    ("study", "case", "resolution", "kind"),
    [
        ("entry-rounding", 0, "coarse", "acoustics"),
        ("entry-rounding", 0, "medium", "laminar"),
        ("entry-rounding", -1, "coarse", "estimate"),
        ("throat-sweep", -1, "medium", "turbulent"),
        ("measured", 0, "coarse", "laminar"),
        ("nozzle-benchmark", 0, "medium", "estimate"),
    ],
)
def test_expected_triangles_are_about_as_many_as_gmsh_makes(
    study, case, resolution, kind, tmp_path
):
    """Sizes that overlap and the room gmsh leaves round small ones are not in the estimate."""
    bore = load_study(CONFIGS / f"{study}.yaml").cases()[case].build_bore()
    preset = PRESETS[kind].at(resolution)
    write_mesh(bore, tmp_path / "bore.msh", preset, preset.finest)
    made = read_mesh(tmp_path / "bore.msh").t.shape[1]
    assert 0.4 < expected_triangles(bore, preset, preset.finest) / made < 1.3


def test_a_finer_mesh_or_a_longer_bore_has_more_triangles():
    short, long = (
        load_study(CONFIGS / f"{name}.yaml").cases()[0].build_bore()
        for name in ("entry-rounding", "nozzle-benchmark")
    )
    for preset in PRESETS.values():
        levels = [expected_triangles(short, preset, level) for level in range(preset.levels)]
        assert levels == sorted(levels)
        assert expected_triangles(long, preset, 0) > expected_triangles(short, preset, 0)


def test_memory_grows_with_the_meshes_and_with_the_attempt():
    coarse, fine = (
        layout("entry-rounding", mesh={"resolution": word}, flow={"closure": "turbulent"})
        for word in ("coarse", "fine")
    )
    cases = [*coarse.cases.values()]
    asked = [memory_MB(fine, cases, attempt) for attempt in (1, 2, 3)]
    assert LEAST_MB <= memory_MB(coarse, cases) < asked[0]
    assert asked == [asked[0], 2 * asked[0], 3 * asked[0]]


def test_time_grows_with_the_cases_and_with_the_attempt():
    sweep = layout("throat-sweep")
    cases = [*sweep.cases.values()]
    assert minutes(sweep, cases[:1]) < minutes(sweep, cases)
    assert minutes(sweep, cases, 2) == 2 * minutes(sweep, cases)


def test_other_jobs_ask_for_as_much_again_at_each_attempt():
    assert [growing(1500)(None, attempt) for attempt in (1, 2, 3)] == [1500, 3000, 4500]


def test_any_case_of_a_batch_may_be_the_one_that_needs_most():
    """The demonstration's square edge has the largest mesh, wherever it stands."""
    study = layout("entry-rounding", mesh={"resolution": "fine"}, flow={"closure": "laminar"})
    first, *others = study.cases.values()
    assert memory_MB(study, [*others, first]) == memory_MB(study, [first])
    assert memory_MB(study, others) < memory_MB(study, [first])
