"""A bore's meshes for one model, made again where the wall needs lower cells, and its flow on them.

Workflow and notebooks take this one way.
"""

import logging
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from skfem import MeshTri2

from borestudy import mesh
from borestudy.air import Air
from borestudy.bore import Bore
from borestudy.provenance import file_hash

from .boundary import Inlet
from .models.of_bore import model_of
from .resolution import Remesh
from .result import FlowResult
from .solve import solve_rates

logger = logging.getLogger(__name__)

#: Meshes of each model, with a layer of flat cells along the wall where it asks for one.
PRESETS = {
    "estimate": mesh.ESTIMATE,
    "laminar": mesh.LAMINAR,
    "turbulent": mesh.TURBULENT,
}
NO_LAYER = "on plain triangles without a boundary-layer mesh along the wall"
#: Why a bore gets no boundary-layer mesh without trying.
LOW_STEP = "a step of the wall is lower than the layer is thick"


@dataclass
class FlowMeshes:
    """A bore's meshes for one model, made again with lower first cells where the wall needs it.

    Attributes
    ----------
    bore, paths : Bore, sequence of Path
        What is meshed, and the files to write, coarsest first.
    model, resolution : str
        ``estimate``, ``laminar`` or ``turbulent``; the study's word for its meshes.
    reynolds : float
        The greatest of the throat.
    asked, height : float
        First-cell height over that of the preset: as the meshes were first made, and as they are.
    without_layer : str or None
        Why there is no boundary-layer mesh, where the model asks for one.
    """

    bore: Bore
    paths: Sequence[Path]
    model: str
    resolution: str
    reynolds: float
    asked: float = 1.0
    height: float = 1.0
    without_layer: str | None = None

    @property
    def has_layer(self) -> bool | None:
        """Whether the meshes have a layer of flat cells; None where the model asks for none."""
        return None if PRESETS[self.model].layer is None else self.without_layer is None

    def make(self, height: float = 1.0) -> list[MeshTri2]:
        """Write and read the meshes, with plain triangles where no layer can be laid.

        Raises
        ------
        UnmeshedError
            Where gmsh makes none within its bounds; the files then stay as they were.
        """
        self.asked = self.height = height
        preset = PRESETS[self.model]
        if preset.layer is None:
            return self._write(preset)
        if not mesh.boundary_layer_fits(self.bore, preset):
            self.without_layer = LOW_STEP
        if self.without_layer is None:
            try:
                return self._write(self._resolved(height))
            except mesh.UnmeshedError as problem:
                self.without_layer = str(problem)
        logger.warning("%s: %s", NO_LAYER, self.without_layer)
        return self._write(mesh.plain(preset))

    @property
    def remesh(self) -> Remesh | None:
        """`lowered`, where there are cells to lower."""
        return self.lowered if self.has_layer else None

    def lowered(self, share: float) -> list[MeshTri2]:
        """Make the meshes again with first cells that many times as high as those first tried."""
        meshes = self._write(self._resolved(self.asked * share))
        self.height = self.asked * share
        return meshes

    def _resolved(self, height: float) -> mesh.Preset:
        return mesh.turbulent(self.reynolds, height, PRESETS[self.model])

    def hashes(self) -> tuple[str, ...]:
        """Hash of each mesh file."""
        return tuple(file_hash(path) for path in self.paths)

    def _write(self, preset: mesh.Preset) -> list[MeshTri2]:
        """Meshes of one kind on every level; the files change all or not at all."""
        folder = self.paths[0].parent
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".meshes.", dir=folder) as place:
            made = [Path(place) / path.name for path in self.paths]
            mesh.write_meshes(self.bore, made, preset.at(self.resolution))
            read = [mesh.read_mesh(path) for path in made]
            for path, target in zip(made, self.paths, strict=True):
                os.replace(path, target)
        return read


def solve_bore(
    files: FlowMeshes,
    ladder: Sequence[MeshTri2],
    air: Air,
    rates: Sequence[float],
    inlet: Inlet = "uniform",
    **options: Any,
) -> FlowResult:
    """Solve the flow in a bore by the model that its meshes are for, each rate by itself.

    Parameters
    ----------
    files : FlowMeshes
        The bore, its model, and its meshes, which are made again where the wall needs lower cells.
    ladder : sequence of MeshTri2
        What `files` made last, coarsest first.
    air : Air
        The air's density, viscosity and speed of sound.
    rates : sequence of float
        Rising flow rates [m³/s].
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    **options
        ``tolerance``, ``fields`` and ``known`` of `solve_rates`.

    Returns
    -------
    FlowResult
        What the meshes lack is among its warnings.

    Raises
    ------
    ValueError
        If flow rates are not positive, do not rise or pass Mach 0.3, or the inlet is another word.
    """
    bore = files.bore
    found = solve_rates(
        ladder,
        air,
        rates,
        2 * bore.throat_radius,
        inlet,
        model=model_of(files.model, bore),
        throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
        parts=bore.part_ranges,
        least_levels=PRESETS[files.model].levels,
        remesh=files.remesh,
        **options,
    )
    plain = (f"{NO_LAYER}: {files.without_layer}",) if files.without_layer else ()
    return replace(
        found,
        boundary_layer_mesh=files.has_layer,
        first_cell_height=files.height,
        warnings=(*found.warnings, *plain),
    )
