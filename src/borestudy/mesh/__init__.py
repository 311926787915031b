"""Meshes of bores: gmsh writes them, meshio reads them, and solving needs no gmsh."""

from borestudy.mesh.generate import rows_fit, write_mesh, write_meshes
from borestudy.mesh.limits import MeshError, UnmeshedError, joint_near, refuse_unmeshable
from borestudy.mesh.presets import (
    ACOUSTICS,
    LAMINAR,
    REFINEMENT_RATIO,
    TURBULENT,
    TURBULENT_PLAIN,
    Preset,
    WallLayer,
    turbulent,
)
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import mark_unmeshed, why_unmeshed

__all__ = [
    "ACOUSTICS",
    "LAMINAR",
    "REFINEMENT_RATIO",
    "TURBULENT",
    "TURBULENT_PLAIN",
    "MeshError",
    "Preset",
    "UnmeshedError",
    "WallLayer",
    "joint_near",
    "mark_unmeshed",
    "read_mesh",
    "refuse_unmeshable",
    "rows_fit",
    "turbulent",
    "why_unmeshed",
    "write_mesh",
    "write_meshes",
]
