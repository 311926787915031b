"""Meshes of bores: gmsh writes them, meshio reads them, and solving needs no gmsh."""

from borestudy.mesh.generate import mesh_ladder, write_mesh, write_meshes
from borestudy.mesh.outline import boundary_layer_fits
from borestudy.mesh.presets import (
    ACOUSTICS,
    ESTIMATE,
    LAMINAR,
    REFINEMENT_RATIO,
    TURBULENT,
    TURBULENT_PLAIN,
    Preset,
    plain,
    turbulent,
)
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import EndedError, MeshError, UnmeshedError

__all__ = [
    "ACOUSTICS",
    "ESTIMATE",
    "LAMINAR",
    "REFINEMENT_RATIO",
    "TURBULENT",
    "TURBULENT_PLAIN",
    "EndedError",
    "MeshError",
    "Preset",
    "UnmeshedError",
    "boundary_layer_fits",
    "mesh_ladder",
    "plain",
    "read_mesh",
    "turbulent",
    "write_mesh",
    "write_meshes",
]
