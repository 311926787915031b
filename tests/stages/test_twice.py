"""The same turbulent flow solved in two processes: the same numbers and fields, to the byte."""

import json
import os
import subprocess
import sys
from pathlib import Path

#: Meshes a bore with a sharp edge, with rows along its wall, and solves one rate.  Where addresses
#: are random, its meshes differ in nearly every process.
JOB = """
import sys
from pathlib import Path
from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions
from borestudy.stages.flow import flow_stage

folder = Path(sys.argv[1])
bore = bore_from_dimensions(
    length=45e-3, cup_diameter=12e-3, cup_depth=8e-3, cup_shape=0.6, throat_diameter=3.9e-3,
    throat_length=5e-3, entry=Entry("square", ()), backbore_end_diameter=6e-3,
    backbore_taper="straight",
)
flow_stage(
    model="turbulent", bore=bore,
    meshes=[folder / f"{level}.msh" for level in range(2)], air=humid_air(),
    rates=[2e-4], inlet="uniform", resolution="draft", source="same",
    results=folder / "flow.json", fields=folder / "fields",
)
"""


def solved(folder: Path, seed: str) -> tuple[dict, dict[str, bytes]]:
    """What one process wrote, without what it took, and the files of meshes and fields.

    Processes differ in what their memory looks like: seed of hashes, and environment.
    """
    folder.mkdir()
    script = folder / "job.py"
    script.write_text(JOB)
    environment = {**os.environ, "PYTHONHASHSEED": seed, "FILL": int(seed) * 700 * "x"}
    environment |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    subprocess.run([sys.executable, script, folder], check=True, env=environment)
    found = json.loads((folder / "flow.json").read_text())
    for taken in ("provenance", "solve_seconds"):
        del found[taken]
    files = [*folder.glob("*.msh"), *(folder / "fields").glob("*.vtu")]
    return found, {path.name: path.read_bytes() for path in files}


def test_turbulent_flow_solved_twice_is_the_same_to_the_byte(tmp_path: Path) -> None:
    one, files = solved(tmp_path / "one", "1")
    other, others = solved(tmp_path / "other", "2")
    assert all(row["converged"] for row in one["rates"])
    assert {"0.msh", "1.msh"} < set(files)
    assert any(name.endswith(".vtu") for name in files)
    assert one == other
    assert files == others
