"""Result files are written whole or not at all, and refused by name where they are not whole."""

import subprocess
import sys

import meshio
import numpy as np
import pandas as pd
import pytest

from borestudy.acoustics.stored import load_two_port, save_two_port
from borestudy.acoustics.two_port import solve_two_port
from borestudy.air import humid_air
from borestudy.bore import cylinder
from borestudy.files import FileError, read_json, replacing, write_json
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.report.figures.gridded import read_field
from borestudy.results.tables.files import join_impedances, read_table, verification_table
from borestudy.stages.verification import write_checks

MM = 1e-3


def cut(path, share):
    """Keep a share of a file's bytes."""
    contents = path.read_bytes()
    path.write_bytes(contents[: int(share * len(contents))])


@pytest.fixture(scope="module")
def mesh(tmp_path_factory):
    path = tmp_path_factory.mktemp("mesh") / "pipe.msh"
    write_mesh(cylinder(2 * MM, 8 * MM), path, ACOUSTICS, 0)
    return path


def write_triangle(path):
    points, corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]])
    field = meshio.Mesh(points, [("triangle", corners)], point_data={"p": np.zeros(3)})
    with replacing(path) as unfinished:
        field.write(unfinished)


def check(quantity):
    from borestudy.results.check import Check

    return Check("pipe", quantity, "Hz", 100.0, 100.0, 0.1, "theory")


def written(kind, folder, mesh):
    """A result of one kind, and what reads it."""
    path = folder / f"result.{kind}"
    if kind == "json":
        write_json(path, {"rates": list(range(20))})
        return path, read_json
    if kind == "csv":
        pd.DataFrame({"case": ["a", "b", "c"], "x": [1.123456, 2.25, 3.25]}).to_csv(
            path, index=False
        )
        return path, read_table
    if kind == "npz":
        meshes = [read_mesh(mesh)]
        save_two_port(solve_two_port(meshes, humid_air(), 500.0, 1000.0, "lossless"), path)
        return path, load_two_port
    if kind == "vtu":
        write_triangle(path)
        return path, read_field
    path.write_bytes(mesh.read_bytes())
    return path, read_mesh


@pytest.mark.parametrize("share", [0.0, 0.5, 0.97])
@pytest.mark.parametrize("kind", ["json", "csv", "npz", "msh", "vtu"])
def test_a_truncated_result_is_refused_by_its_name(kind, share, mesh, tmp_path):
    path, read = written(kind, tmp_path, mesh)
    read(path)
    cut(path, share)
    with pytest.raises(FileError) as caught:
        read(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: found a file that is not whole (")
    assert message.endswith("); delete it and run again")
    assert "\n" not in message


def test_a_missing_result_is_refused_by_its_name(tmp_path):
    path = tmp_path / "flow.json"
    with pytest.raises(FileError, match=f"{path}: found no such file"):
        read_json(path)


def test_a_table_that_lost_whole_rows_is_refused(tmp_path):
    checks, curve = tmp_path / "checks.csv", tmp_path / "impedance.csv"
    write_checks([check("first"), check("second")], checks)
    assert len(verification_table([checks])) == 2
    pd.DataFrame({"case": "a", "frequency_Hz": [1.0, 2.0]}).to_csv(curve, index=False)
    assert len(join_impedances([curve], 2)) == 2
    for path in (checks, curve):
        path.write_text("".join(path.read_text().splitlines(keepends=True)[:-1]))
    with pytest.raises(FileError, match="1 checks are left"):
        verification_table([checks])
    with pytest.raises(FileError, match="1 of 2 rows"):
        join_impedances([curve], 2)


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("old\n")

    def stopped():
        with replacing(path) as unfinished:
            unfinished.write_text("new")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        stopped()
    assert path.read_text() == "old\n"
    assert list(tmp_path.iterdir()) == [path]


WRITERS = {
    "json": "write_json(path, list(range(100_000)))",
    "csv": "write_table(pd.DataFrame({'x': range(100_000)}), path)",
    "msh": "write_mesh(cylinder(2e-3, 8e-3), path, ACOUSTICS, 2)",
    "npz": "save_two_port(solved, path)",
}
PROGRAM = """
import resource, sys
from pathlib import Path
import pandas as pd
from borestudy.acoustics.stored import save_two_port
from borestudy.acoustics.two_port import solve_two_port
from borestudy.air import humid_air
from borestudy.bore import cylinder
from borestudy.results.tables.files import write_table
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.files import write_json
from borestudy.stages.jobs import log_to

path = Path(sys.argv[1])
mesh = path.with_name("pipe.msh")
write_mesh(cylinder(2e-3, 8e-3), mesh, ACOUSTICS, 0)
solved = solve_two_port([read_mesh(mesh)], humid_air(), 500.0, 1000.0, "lossless")
log_to(path.with_name("job.log"), "job")
resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))
"""


@pytest.mark.parametrize("kind", WRITERS)
def test_no_room_for_a_result_is_one_line_with_its_name(kind, tmp_path):
    # A limit on the size of files stops a write as a full disk does, and needs no disk.
    path = tmp_path / "results" / f"result.{kind}"
    path.parent.mkdir()
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM + WRITERS[kind], str(path)], capture_output=True, text=True
    )
    assert ran.returncode != 0
    assert len(ran.stderr.splitlines()) == 1, ran.stderr
    assert ran.stderr.startswith(f"job: {path}: cannot be written")
    assert "make room" in ran.stderr
    left = {file.name for file in path.parent.iterdir()}
    assert left == {"pipe.msh", "job.log"}
