"""A case's steady flow at the study's rates by one model."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, replace
from pathlib import Path

from borestudy.air import Air
from borestudy.bore import Bore, Dimension
from borestudy.flow.at_rate import rate_without_solution
from borestudy.flow.boundary import Inlet
from borestudy.flow.meshes import PRESETS, FlowMeshes, solve_bore
from borestudy.flow.models.of_bore import BY_RULE, Transition, models_of
from borestudy.flow.refinement import with_floors
from borestudy.flow.regime import Scale, rate_scale
from borestudy.flow.result import FlowResult
from borestudy.flow.solve import TOLERANCE
from borestudy.mesh.unmeshed import UnmeshedError, mark_unmeshed
from borestudy.provenance import Provenance, provenance
from borestudy.records import write_record
from borestudy.stages.solved_rates import KeptRate, solved_rates


def flow_stage(
    *,
    model: str,
    bore: Bore,
    meshes: Sequence[Path | str],
    air: Air,
    rates: Sequence[float],
    inlet: Inlet,
    resolution: str,
    transition: Transition = BY_RULE,
    pipe_behind: float = 0.0,
    tolerance: float = TOLERANCE,
    source: str,
    results: Path | str,
    fields: Path | str,
    dimensions: Sequence[Dimension] = (),
) -> None:
    """Mesh a bore for one model of the flow, solve it, write the record and a field a rate.

    Rates that a former job of the case solved from the same things are taken from its folder.

    Parameters
    ----------
    model : {"estimate", "laminar", "turbulent"}
        Model of the flow.  Where no boundary-layer mesh can be laid for the turbulent one, the
        triangles are plain: the record says so, and rates that need one say ``y+ too large``.
    bore : Bore
        What is meshed.
    meshes : sequence of path
        Files to write, coarsest first; those of finer meshes, for rates that need them, are beside
        the first, under the preset's names.
    air : Air
        The air's density, viscosity and speed of sound.
    rates : sequence of float [m³/s]
        Rising flow rates.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    resolution : {"coarse", "medium", "fine"}
        The study's word for its meshes.
    transition : Transition
        Where the best estimate turns turbulent.
    pipe_behind : float
        Length [m] of a straight pipe that the flow has after the shank, 0 without.
    tolerance : float
        Numerical uncertainty wanted of the pressure drop, as a share of it.
    source : str
        Hash of the sources, for the provenance.
    results, fields : path
        The JSON file, and the folder for fields.
    dimensions : sequence of Dimension
        Dimensions of the bore, without a pipe behind it, that derivatives are wanted by.
    """
    fields = Path(fields)
    fields.mkdir(parents=True, exist_ok=True)
    diameter = 2 * bore.throat_radius
    scales = [rate_scale(air, rate, diameter) for rate in rates]
    whole = bore.extended(pipe_behind) if pipe_behind else bore
    if pipe_behind:
        dimensions = [one.extended(bore, pipe_behind) for one in dimensions]
    greatest = scales[-1].reynolds
    paths = [Path(path) for path in meshes]
    paths += [paths[0].parent / f"{name}.msh" for name in PRESETS[model].names[len(paths) :]]
    files = FlowMeshes(whole, paths, model, resolution, greatest)
    made_from = {
        "inlet": inlet,
        "tolerance": tolerance,
        "source": source,
        "bore": [[segment.part, segment.points, segment.weights] for segment in whole.segments],
        "mesh": [resolution, len(paths), files.has_layer and greatest],
        "air": asdict(air),
        "dimensions": [asdict(one) for one in dimensions],
        "models": [asdict(one) for one in models_of(model, whole, transition)],
    }
    kept = solved_rates(results, made_from)
    known = kept.read(rates)
    try:
        # Those rates' cells, since others would make other meshes.
        files.make(next((entry.cell_height for entry in known.values()), 1.0))
    except UnmeshedError as problem:
        for path in files.made():
            path.unlink()
        mark_unmeshed(meshes, str(problem))
        write_record(results, unmeshed_flow(model, scales, str(problem), provenance(source)))
        return

    def solve(known: Mapping[int, KeptRate]) -> FlowResult:
        rows = {index: entry.row for index, entry in known.items()}
        return solve_bore(
            files,
            air,
            rates,
            inlet,
            transition=transition,
            tolerance=tolerance,
            fields=fields,
            known=rows,
            dimensions=dimensions,
        )

    known = _solved_on(files, known)
    found = solve(known)
    if len(_solved_on(files, known)) < len(known):
        # A new rate needs lower cells than the others were solved with: as if there were no others.
        files.make()
        known, found = {}, solve({})
    with suppress(UnmeshedError):
        # What a kept rate was solved on is there as well.
        files.ladder[max((level for entry in known.values() for level in entry.row.mesh_levels),
                         default=0)]  # fmt: skip
    kept.keep(rates, found, known, fields, files)
    kept.restore(known, fields)
    unknowns = max([found.unknowns, *(entry.unknowns for entry in known.values())], key=len)
    residuals = [row.residual for row in found.rates if row.residual is not None]
    inputs = {f"mesh {level}": path for level, path in enumerate(files.made())}
    found = replace(
        found,
        rates=with_floors(found.rates, tolerance),
        unknowns=unknowns,
        pipe_behind_mm=1e3 * pipe_behind,
        reused_rates_L_per_s=tuple(1e3 * rates[index] for index in known),
        provenance=provenance(source, inputs, unknowns, max(residuals, default=None)),
    )
    write_record(results, found)


def _solved_on(files: FlowMeshes, known: Mapping[int, KeptRate]) -> dict[int, KeptRate]:
    """The rates that were solved on the meshes as they are, as far as those are made."""
    hashes = files.hashes()
    return {
        index: entry
        for index, entry in known.items()
        if all(ours == theirs for ours, theirs in zip(hashes, entry.mesh_hashes, strict=False))
    }


def unmeshed_flow(model: str, scales: Sequence[Scale], reason: str, made: Provenance) -> FlowResult:
    """Results of flow rates in a bore without a mesh: a row each, which says why."""
    rows = [replace(rate_without_solution(scale, None), not_meshed=reason) for scale in scales]
    return FlowResult(model=model, rates=tuple(rows), not_meshed=reason, provenance=made)
