"""All meshes of a bore for one physics, made and read: for whoever keeps no mesh files."""

from pathlib import Path
from tempfile import TemporaryDirectory

from skfem import MeshTri2

from borestudy.bore import Bore
from borestudy.mesh.generate import write_meshes
from borestudy.mesh.presets import Preset
from borestudy.mesh.read import read_mesh


def mesh_ladder(bore: Bore, preset: Preset) -> list[MeshTri2]:
    """Mesh a bore on every level of a preset, as the workflow does.

    Parameters
    ----------
    bore : Bore
        What is meshed.
    preset : Preset
        Such as ``LAMINAR.at("medium")``.

    Returns
    -------
    list of MeshTri2
        The coarsest first, lengths in m, those for refinement last.

    Raises
    ------
    MeshError
        As `write_mesh`.
    """
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{name}.msh" for name in preset.names]
        write_meshes(bore, paths, preset)
        return [read_mesh(path) for path in paths]
