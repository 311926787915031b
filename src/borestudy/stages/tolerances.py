"""The first case with each main dimension made larger by an error of the workshop's size.

The effect of such an error is a small difference, so it is taken on coarse meshes and from a
change of several tolerances, which stands clear of what two meshes differ by, and scaled back.  The
flow is the best estimate's, as in the tables.
"""

import logging
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from skfem import MeshTri2

from borestudy.acoustics.result import AcousticResult
from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.bore import Bore, Segment, passage
from borestudy.flow.boundary import Inlet
from borestudy.flow.meshes import FlowMeshes, solve_bore
from borestudy.flow.models.of_bore import BY_RULE, Transition
from borestudy.flow.regime import rate_scale
from borestudy.flow.result import FlowResult
from borestudy.mesh import ACOUSTICS, ESTIMATE, Preset, UnmeshedError, read_mesh, write_mesh
from borestudy.provenance import provenance
from borestudy.records import write_record
from borestudy.results.perturbed import PerturbedBore, PerturbedBores
from borestudy.study import Case, StudyError
from borestudy.study.models import BoreDimensions

logger = logging.getLogger(__name__)

#: How many tolerances a dimension is changed by.
STEPS = 4
#: Two levels of each kind: far more exact than a small difference needs.
RESOLUTION, LEVELS = "draft", 2
RESOLUTION_OF_FLOW = "coarse"
DIMENSIONS = {
    "throat diameter": ("throat", "diameter"),
    "throat length": ("throat", "length"),
    "cup diameter": ("cup", "diameter"),
    "cup depth": ("cup", "depth"),
    "backbore end diameter": ("backbore", "end_diameter"),
    "overall length": ("length",),
}
ALL_DIAMETERS = "all diameters"
ENTRY_RADIUS = "throat entry radius"


def tolerance_stage(
    *,
    case: Case,
    air: Air,
    tolerance: float,
    frequency_range: tuple[float, float],
    walls: Walls,
    termination: str,
    air_column: Path | str | None,
    rate: float,
    inlet: Inlet,
    transition: Transition = BY_RULE,
    source: str,
    output: Path | str,
) -> None:
    """Solve the first case, and once more with each dimension in error; write a `PerturbedBores`.

    The `tolerance` of machining is in m, the flow `rate` that cases are compared at in m³/s, the
    range of resonances in Hz; walls, termination and air column are those of the study's own.
    """

    def solve(bore: Bore, step: float = 0.0) -> PerturbedBore:
        end = build_termination(termination, bore.shank_radius, walls, air_column)
        with TemporaryDirectory() as folder:
            meshes = _finest_meshes(bore, ACOUSTICS.at(RESOLUTION), Path(folder))
            flow = _estimate(bore, air, rate, inlet, transition, Path(folder))
        sound = acoustic_result(solve_two_port(meshes, air, *frequency_range, walls), end)
        return PerturbedBore(
            AcousticResult(termination=sound.termination, resonances=sound.resonances),
            replace(flow, rates=tuple(replace(row, axis=None, wall=None) for row in flow.rates)),
            passage(bore),
            1e3 * step,
        )

    base, dimensions = None, {}
    try:
        base = solve(case.build_bore())
        for name, step, bore in changed_bores(case, STEPS * tolerance):
            dimensions[name] = solve(bore, step)
    except UnmeshedError as problem:
        logger.warning("no further dimension: %s", problem)
    write_record(output, PerturbedBores(base, dimensions, provenance(source)))


def changed_bores(case: Case, step: float) -> Iterator[tuple[str, float, Bore]]:
    """Each dimension's name, by how much it is larger [m], and the bore.

    A dimension that cannot grow so far (a radius that just fits) is made smaller instead, and left
    out where that is impossible too.  A bore from stations has all its diameters made larger.
    """
    if not isinstance(case.bore, BoreDimensions):
        yield ALL_DIAMETERS, step, with_wider_bore(case.build_bore(), step)
        return
    for name in (*DIMENSIONS, ENTRY_RADIUS):
        for signed in (step, -step):
            changed = _changed(case, name, signed)
            if changed is not None:
                yield name, signed, changed
                break


def with_wider_bore(bore: Bore, step: float) -> Bore:
    """The bore with all diameters larger by a step [m]."""
    segments = []
    for segment in bore.segments:
        points = segment.points.copy()
        points[:, 1] += step / 2
        segments.append(Segment(points, segment.weights, segment.part))
    return Bore(segments, bore.entry)


def _changed(case: Case, name: str, step: float) -> Bore | None:
    """The case's bore with one dimension larger, None where there is no such bore."""
    assert isinstance(case.bore, BoreDimensions)
    dimensions = case.bore.model_copy(deep=True)
    section: Any
    if name == ENTRY_RADIUS:
        entry = dimensions.throat.entry.value
        if entry.shape != "rounded":
            return None
        section, key, size, shape = dimensions.throat, "entry", entry.sizes[0], "rounded "
    else:
        *above, key = DIMENSIONS[name]
        section = getattr(dimensions, above[0]) if above else dimensions
        size, shape = getattr(section, key).value, ""
    try:
        # A negative length is refused like any other that makes no bore.
        setattr(section, key, f"{shape}{1e3 * (size + step):.9f} mm")
        return replace(case, bore=dimensions).build_bore()
    except (StudyError, ValueError):
        return None


def _estimate(
    bore: Bore, air: Air, rate: float, inlet: Inlet, transition: Transition, folder: Path
) -> FlowResult:
    """The best estimate at one rate on the coarse meshes, which go into a folder."""
    reynolds = rate_scale(air, rate, 2 * bore.throat_radius).reynolds
    paths = [folder / f"{name}.msh" for name in ESTIMATE.names[: ESTIMATE.levels]]
    files = FlowMeshes(bore, paths, ESTIMATE.kind, RESOLUTION_OF_FLOW, reynolds)
    files.make()
    return solve_bore(files, air, [rate], inlet, transition=transition)


def _finest_meshes(bore: Bore, preset: Preset, folder: Path) -> list[MeshTri2]:
    """Meshes of the finest `LEVELS` levels, by way of files in a folder."""
    meshes = []
    for level in range(preset.levels - LEVELS, preset.levels):
        path = folder / f"{preset.names[level]}.msh"
        write_mesh(bore, path, preset, level)
        meshes.append(read_mesh(path))
    return meshes
