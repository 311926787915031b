"""What a result says of its making, and which sources it depends on."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from borestudy.files import read_json, write_json
from borestudy.provenance import (
    ROOT,
    file_hash,
    peak_memory_megabytes,
    provenance,
    source_hash,
    used_sources,
)
from borestudy.stages.batches.steps import SOURCES


def rooms(*modules, **options):
    """First folder or file below the package of every source that modules use."""
    return {path.relative_to(ROOT).parts[0] for path in used_sources(*modules, **options)}


@pytest.fixture
def package(tmp_path):
    """A package of the same name: b passes a name on from c, a uses it, d stands alone."""
    root = tmp_path / "borestudy"
    (root / "b" / "templates").mkdir(parents=True)
    for name, text in {
        "__init__.py": "",
        "a.py": "from borestudy.b import thing\n",
        "b/__init__.py": "from .c import thing\nfrom .d import other\n",
        "b/c.py": "thing = 1\n",
        "b/d.py": "other = 2\n",
        "b/templates/page.html": "<p>",
        "e.py": "def later():\n    from borestudy import a\n",
    }.items():
        (root / name).write_text(text)
    return root


def names(package, *modules, **options):
    found = used_sources(*modules, root=package, **options)
    return [path.relative_to(package).as_posix() for path in found]


def test_a_name_passed_on_leads_to_its_own_module_only(package):
    assert names(package, "borestudy.a") == [
        "a.py",
        "b/__init__.py",
        "b/c.py",
        "b/templates/page.html",
    ]


def test_imports_inside_functions_count(package):
    assert "b/c.py" in names(package, "borestudy.e")


def test_what_is_left_out_leaves_out_what_only_it_imports(package):
    assert names(package, "borestudy.e", without=["borestudy.a"]) == ["e.py"]


def test_the_front_door_belongs_to_no_rule():
    # A stage imports from this package, so that Python loads the front door with it.
    used = used_sources("borestudy.stages.flow", "borestudy.study.quantities")
    assert ROOT / "__init__.py" not in used
    assert ROOT / "notebook.py" not in used


def test_a_module_that_does_not_exist_is_refused(package):
    with pytest.raises(ValueError, match=r"borestudy\.nothing"):
        source_hash("borestudy.nothing", root=package)


def test_the_source_hash_does_not_depend_on_the_place(package, tmp_path):
    elsewhere = tmp_path / "elsewhere" / "borestudy"
    shutil.copytree(package, elsewhere)
    assert source_hash("borestudy.a", root=package) == source_hash("borestudy.a", root=elsewhere)


@pytest.mark.parametrize(
    ("changed", "stale"), [("b/c.py", True), ("b/templates/page.html", True), ("b/d.py", False)]
)
def test_only_a_used_source_changes_the_hash(package, tmp_path, changed, stale):
    copy = tmp_path / "copy" / "borestudy"
    shutil.copytree(package, copy)
    (copy / changed).write_text("changed = 3\n")
    same = source_hash("borestudy.a", root=package) == source_hash("borestudy.a", root=copy)
    assert same is not stale


def test_flow_and_resonance_use_none_of_each_other():
    assert "flow" in rooms("borestudy.stages.flow")
    assert "acoustics" not in rooms("borestudy.stages.flow")
    assert "acoustics" in rooms("borestudy.stages.acoustics")
    assert "flow" not in rooms("borestudy.stages.acoustics")


def test_the_meshes_use_no_physics():
    used = rooms("borestudy.stages.geometry", "borestudy.study.building", without=["borestudy.air"])
    assert used.isdisjoint({"acoustics", "flow", "fem", "closed_form", "air.py", "compare"})


def hashed(step):
    """Files in the hash of sources that a step of a case has in its key."""
    modules, without = SOURCES[step]
    return {path.relative_to(ROOT).as_posix() for path in used_sources(*modules, without=without)}


def test_a_change_of_the_stage_that_solves_the_two_port_solves_it_again():
    used = hashed("two_port")
    assert {"stages/acoustics.py", "acoustics/two_port.py", "acoustics/reduced_basis.py"} <= used
    assert {"mesh/read.py", "fem/sparse.py", "acoustics/walls.py"} <= used


def test_the_two_port_does_not_depend_on_the_termination_or_what_is_read_from_it():
    read = {"solve", "termination", "resonances", "mouthpiece", "uncertainty"}
    files = {f"acoustics/{name}.py" for name in read} | {"closed_form/radiation.py"}
    assert files.isdisjoint(hashed("two_port"))
    assert files <= hashed("resonance")


def test_building_a_bore_computes_no_air():
    # The air's sources are left out of the meshes' hash, which is right as long as this holds.
    program = """
import borestudy.air
def refuse(*_):
    raise AssertionError("the air was computed")
borestudy.air.humid_air = refuse
from borestudy.study import study_from_mapping
bore = {"length": "88 mm", "cup": {"diameter": "16 mm", "depth": "11 mm"},
        "throat": {"diameter": "3.7 mm", "length": "5 mm"}, "backbore": {"end_diameter": "9 mm"}}
case = study_from_mapping({"bore": bore}, ".", "study").cases()[0]
case.build_bore()
try:
    case.build_air()
except AssertionError:
    print("only when asked")
"""
    ran = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
    assert ran.stdout == b"only when asked\n"


def test_numbers_that_json_lacks_become_null(tmp_path):
    path = tmp_path / "folder" / "result.json"
    write_json(path, {"a": np.float64(1.5), "b": [np.nan, np.inf], "c": np.arange(2), 3: Path("x")})
    assert json.loads(path.read_text()) == {"a": 1.5, "b": [None, None], "c": [0, 1], "3": "x"}


def test_a_result_that_cannot_be_written_leaves_the_old_one(tmp_path):
    path = tmp_path / "result.json"
    write_json(path, {"old": 1})
    with pytest.raises(TypeError, match="complex"):
        write_json(path, {"new": 1j})
    assert read_json(path) == {"old": 1}
    assert list(tmp_path.iterdir()) == [path]


def test_a_result_says_what_made_it(tmp_path):
    mesh = tmp_path / "case.msh"
    mesh.write_text("nodes")
    made = provenance("abc", {"mesh": mesh}, unknowns=[10, 20], residual=1e-12)
    assert made.source_hash == "abc"
    assert made.input_hashes == {"mesh": file_hash(mesh)}
    assert {"python", "numpy", "scikit-fem", "gmsh"} <= set(made.versions)
    assert made.wall_time_s > 0
    assert made.unknowns == (10, 20)


def test_peak_memory_sees_what_was_allocated():
    before = peak_memory_megabytes()
    block = np.ones(int((before + 50) * 1e6 / 8))
    assert peak_memory_megabytes() >= block.nbytes / 1e6
