"""A bore's meshes for one model, made again where the wall needs lower cells, and its flow on them.

Workflow and notebooks take this one way.
"""

import logging
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import zip_longest
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from skfem import MeshTri2

from borestudy import mesh
from borestudy.air import Air
from borestudy.bore import Bore, Dimension
from borestudy.provenance import file_hash

from .boundary import Inlet
from .ladder import Ladder
from .models.of_bore import BY_RULE, Transition, models_of
from .resolution import Remesh
from .result import FlowAtRate, FlowResult
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
        What is meshed, and the files of all its meshes, coarsest first.  Those beyond the preset's
        levels are made when a flow rate asks for them.
    model, resolution : str
        ``estimate``, ``laminar`` or ``turbulent``; the study's word for its meshes.
    reynolds : float
        The greatest of the throat.
    asked, height : float
        First-cell height over that of the preset: as the meshes were first made, and as they are.
    without_layer : str or None
        Why there is no boundary-layer mesh, where the model asks for one.
    ladder : Ladder
        The meshes as they were made last; none before.
    """

    bore: Bore
    paths: Sequence[Path]
    model: str
    resolution: str
    reynolds: float
    asked: float = 1.0
    height: float = 1.0
    without_layer: str | None = None
    ladder: Ladder = field(default_factory=lambda: Ladder([]))

    @property
    def has_layer(self) -> bool | None:
        """Whether the meshes have a layer of flat cells; None where the model asks for none."""
        return None if PRESETS[self.model].layer is None else self.without_layer is None

    def make(self, height: float = 1.0) -> Ladder:
        """Write and read the meshes, with plain triangles where no layer can be laid.

        The files of those that are made later are deleted, so that none is of other sizes.

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

    def lowered(self, share: float) -> Ladder:
        """Make the meshes again with first cells that many times as high as those first tried."""
        lowered = self._write(self._resolved(self.asked * share))
        self.height = self.asked * share
        return lowered

    def _resolved(self, height: float) -> mesh.Preset:
        return mesh.turbulent(self.reynolds, height, PRESETS[self.model])

    def made(self) -> list[Path]:
        """Files of the meshes that there are, coarsest first."""
        return [path for path in self.paths if path.is_file()]

    def hashes(self) -> tuple[str, ...]:
        """Hash of each mesh file that there is."""
        return tuple(map(file_hash, self.made()))

    def _write(self, preset: mesh.Preset) -> Ladder:
        """Meshes of one kind on the preset's levels; those files change all or not at all."""
        sized, folder = preset.at(self.resolution), self.paths[0].parent
        first, further = self.paths[: preset.levels], self.paths[preset.levels :]
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".meshes.", dir=folder) as place:
            made = [Path(place) / path.name for path in first]
            mesh.write_meshes(self.bore, made, sized)
            read = [mesh.read_mesh(path) for path in made]
            for path in further:
                path.unlink(missing_ok=True)
            for path, target in zip(made, first, strict=True):
                os.replace(path, target)
        self.ladder = Ladder(read, len(self.paths), partial(self._write_one, sized))
        return self.ladder

    def _write_one(self, preset: mesh.Preset, level: int) -> MeshTri2:
        mesh.write_mesh(self.bore, self.paths[level], preset, level)
        return mesh.read_mesh(self.paths[level])


def solve_bore(
    files: FlowMeshes,
    air: Air,
    rates: Sequence[float],
    inlet: Inlet = "uniform",
    *,
    transition: Transition = BY_RULE,
    known: Mapping[int, FlowAtRate] | None = None,
    dimensions: Sequence[Dimension] = (),
    **options: Any,
) -> FlowResult:
    """Solve the flow in a bore by the model that its meshes are for, each rate by itself.

    Parameters
    ----------
    files : FlowMeshes
        The bore, its model, and its meshes once made, which are made again where the wall needs
        lower cells.
    air : Air
        The air's density, viscosity and speed of sound.
    rates : sequence of float
        Rising flow rates [m³/s].
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    transition : Transition
        Where the best estimate turns turbulent.
    known : mapping of int to FlowAtRate, optional
        Records of rates, by index, that are not solved again.
    dimensions : sequence of Dimension
        Dimensions of the bore that derivatives are wanted by, none by default.
    **options
        ``tolerance`` and ``fields`` of `solve_rates`.

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
    rows = dict(known or {})
    parts: list[FlowResult] = []
    for model in models_of(files.model, bore, transition):
        # The first model is for the faster rates, which need the lowest cells.
        found = solve_rates(
            files.ladder,
            air,
            rates,
            2 * bore.throat_radius,
            inlet,
            model=model,
            throat=(bore.throat_start, bore.throat_end) if "throat" in bore.parts else None,
            parts=bore.part_ranges,
            least_levels=PRESETS[files.model].levels,
            remesh=None if parts else files.remesh,
            known=rows,
            bore=bore,
            dimensions=dimensions,
            **options,
        )
        parts.append(found)
        reynolds = [row.throat_reynolds or 0.0 for row in found.rates]
        rows |= {
            index: row
            for index, row in enumerate(found.rates)
            if reynolds[index] >= model.lowest_reynolds
        }
    plain = (f"{NO_LAYER}: {files.without_layer}",) if files.without_layer else ()
    whole = _together(parts)
    return replace(
        whole,
        boundary_layer_mesh=files.has_layer,
        first_cell_height=files.height,
        warnings=(*whole.warnings, *plain),
    )


def _together(parts: Sequence[FlowResult]) -> FlowResult:
    """The last of several results of the same rates, with the work of all."""
    counts = ("solver_steps", "shortened_steps", "factorisations", "solve_seconds")
    work: dict[str, Any] = {
        name: tuple(map(sum, zip_longest(*(getattr(one, name) for one in parts), fillvalue=0)))
        for name in counts
    }
    return replace(
        parts[-1],
        **work,
        model_options={name: of for one in parts for name, of in one.model_options.items()},
        unknowns=max((one.unknowns for one in parts), key=len),
        wall_refinements=sum(one.wall_refinements for one in parts),
        warnings=tuple(dict.fromkeys(text for one in parts for text in one.warnings)),
    )
