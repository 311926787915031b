"""Known answers, solved with the study's own mesh settings.

Each check takes the study's air, its word for its meshes ("coarse", "medium" or "fine"), of which
the finest is solved on, and a folder for them.
"""

from pathlib import Path

from skfem import MeshTri2

from borestudy.bore import Bore
from borestudy.mesh import Preset, read_mesh, write_mesh


def finest_mesh(bore: Bore, path: Path, preset: Preset) -> MeshTri2:
    """Mesh a bore as finely as a preset goes."""
    write_mesh(bore, path, preset, preset.finest)
    return read_mesh(path)
