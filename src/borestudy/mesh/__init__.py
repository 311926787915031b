"""Meshes of bores: gmsh writes them, meshio reads them, and solving needs no gmsh."""

from borestudy.mesh.generate import MeshError, write_mesh
from borestudy.mesh.read import read_mesh
from borestudy.mesh.sizing import (
    ACOUSTICS,
    FLOW,
    REFINEMENT_RATIO,
    TURBULENT,
    Sizing,
    WallLayer,
    turbulent,
)

__all__ = [
    "ACOUSTICS",
    "FLOW",
    "REFINEMENT_RATIO",
    "TURBULENT",
    "MeshError",
    "Sizing",
    "WallLayer",
    "read_mesh",
    "turbulent",
    "write_mesh",
]
