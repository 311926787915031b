"""gmsh in a process of its own, with a bound in memory and time."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

from borestudy.files import plain
from borestudy.mesh import gmsh_process
from borestudy.mesh.gmsh_process import NO_MEMORY, NOT_LOADED
from borestudy.mesh.unmeshed import EndedError, MeshError, UnmeshedError

#: Stands for a call's result, such as the tag of a point, in the arguments of later calls.
Tag = dict[str, int]

SYSTEM_PACKAGES = "libglu1-mesa libgl1 libxft2 libxcursor1 libxinerama1 libgomp1"
#: What one mesh may take: the largest of a study take a quarter of the memory and 5 s.
MEMORY_BYTES, SECONDS = 1_000_000_000, 60
#: All of the environment that gmsh sees: where libraries and data are, and no seed but this.
KEPT = ("LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "PATH", "TMPDIR")
FIXED = {"PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
#: Signals that come from outside, and not from what gmsh does.
FROM_OUTSIDE = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
#: What libraries and Python say last when the memory allowed is used up.
OUT_OF_MEMORY = ("bad_alloc", "MemoryError", "allocate memory", "Memory allocation")


class Calls:
    """Looks like the module ``gmsh`` and keeps each call instead of making it.

    `made` has each call's ``name``, such as ``model.occ.addPoint``, with its ``arguments`` and
    ``options``, in order and ready for JSON.
    """

    def __init__(self, made: list[dict[str, Any]] | None = None, name: str = "") -> None:
        self.made = [] if made is None else made
        self._name = name

    def __getattr__(self, name: str) -> "Calls":
        return Calls(self.made, f"{self._name}.{name}".lstrip("."))

    def __call__(self, *arguments: Any, **options: Any) -> Tag:
        """Keep a call, and return what stands for its result."""
        self.made.append({"name": self._name, "arguments": list(arguments), "options": options})
        return {"result of": len(self.made) - 1}


def run_gmsh(
    calls: Calls,
    folder: Path,
    file: str,
    stretch_from: float,
    stretch: float,
    memory: int = MEMORY_BYTES,
    seconds: int = SECONDS,
) -> None:
    """Make calls of gmsh in a process of its own and have it write its mesh.

    Parameters
    ----------
    calls : Calls
        All calls up to the finished mesh.
    folder : Path
        Folder in which the file is written.
    file : str
        Name of the file, with gmsh's suffix.
    stretch_from, stretch : float
        Place [m] from which on the nodes are pulled out along the axis, and by what factor.
    memory : int
        Bound of the address space [bytes].
    seconds : int
        Bound of the processor's time [s]: a busy machine takes none of it.

    Raises
    ------
    UnmeshedError
        If gmsh finds no mesh, or needs more than it may take.
    MeshError
        If gmsh cannot be loaded.
    EndedError
        If gmsh was killed.
    """
    job = {"calls": calls.made, "file": file, "stretch_from_m": stretch_from, "stretch": stretch}
    job |= {"memory_bytes": memory, "seconds": seconds}
    kept = {name: os.environ[name] for name in KEPT if name in os.environ}
    done = subprocess.run(
        [sys.executable, "-s", gmsh_process.__file__],
        input=json.dumps(plain(job)),
        capture_output=True,
        text=True,
        cwd=folder,
        env=kept | FIXED,
        check=False,
    )
    if -done.returncode in FROM_OUTSIDE:
        raise EndedError(
            f"gmsh was ended by {signal.Signals(-done.returncode).name}, as the system does where "
            "memory runs out; run again with more memory or fewer jobs at once"
        )
    if done.returncode:
        kind = MeshError if done.returncode == NOT_LOADED else UnmeshedError
        raise kind(_reason(done, memory, seconds))


def _reason(done: subprocess.CompletedProcess[str], memory: int, seconds: int) -> str:
    """Why there is no mesh, and what can be done."""
    said = done.stdout.strip()
    if done.returncode == NOT_LOADED:
        if said.startswith("OSError"):
            return (
                f"gmsh cannot be loaded ({said.removeprefix('OSError: ')}); on Debian it needs the "
                f"packages {SYSTEM_PACKAGES}"
            )
        return f"gmsh is not installed ({said}); allowed is `pip install gmsh`"
    stem = "gmsh made no mesh of this bore: "
    advice = "; a bore with fewer or higher steps, or fewer stations, needs less"
    if done.returncode == NO_MEMORY or any(words in done.stderr for words in OUT_OF_MEMORY):
        return f"{stem}it reached the limit of {memory / 1e9:g} GB of memory{advice}"
    if done.returncode == -signal.SIGXCPU:
        return f"{stem}it reached the limit of {seconds} s of processor time{advice}"
    if done.returncode < 0:
        return (
            f"{stem}it was ended by {signal.Signals(-done.returncode).name}, as where "
            f"a library fails{advice}"
        )
    return stem + (said or done.stderr.strip() or f"it ended with code {done.returncode}")
