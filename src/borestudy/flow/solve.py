"""A bore's flow from its meshes to the record of every rate, by any model: the way through."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from skfem import MeshTri2

from borestudy.air import Air
from borestudy.bore import Bore, Dimension
from borestudy.mesh.presets import REFINEMENT_RATIO
from borestudy.mesh.unmeshed import UnmeshedError

from .at_rate import Solution, flow_at_rate, rate_without_solution
from .boundary import Inlet
from .fields import field_name, write_flow_field
from .ladder import Meshes
from .model import Model
from .models.laminar import Laminar
from .refinement import wants_refinement, with_floors
from .regime import Scale, check_rates, rate_scale
from .resolution import Remesh, resolve_wall
from .result import FlowAtRate, FlowResult
from .sensitivity.slopes import Variations, drop_slopes, known_share
from .solver import Level, end_of, next_level

#: Wanted numerical uncertainty of the pressure drop.
TOLERANCE = 0.01
LAMINAR = Laminar()


def solve_flow(
    meshes: Meshes,
    air: Air,
    rates: Sequence[float],
    diameter: float,
    inlet: Inlet = "uniform",
    **options: Any,
) -> FlowResult:
    """Solve a bore's steady flow at several rates on a ladder of meshes.

    As `solve_rates`, whose parameters it takes; no rate is called surer than half of what its
    neighbours are (`with_floors`).

    Raises
    ------
    ValueError
        If flow rates are not positive, do not rise or pass Mach 0.3, or the inlet is another word.
    """
    found = solve_rates(meshes, air, rates, diameter, inlet, **options)
    return replace(found, rates=with_floors(found.rates, found.tolerance or TOLERANCE))


def solve_rates(
    meshes: Meshes,
    air: Air,
    rates: Sequence[float],
    diameter: float,
    inlet: Inlet = "uniform",
    *,
    model: Model = LAMINAR,
    throat: tuple[float, float] | None = None,
    parts: Mapping[str, tuple[float, float]] | None = None,
    refinement_ratio: float = REFINEMENT_RATIO,
    fields: Path | None = None,
    tolerance: float = TOLERANCE,
    least_levels: int | None = None,
    remesh: Remesh | None = None,
    known: Mapping[int, FlowAtRate] | None = None,
    bore: Bore | None = None,
    dimensions: Sequence[Dimension] = (),
) -> FlowResult:
    """Solve each rate by itself: none is judged by its neighbours.

    All rates are solved on the first `least_levels` meshes.  Each further mesh is for the rates
    that are not done: whose pressure drop is not known to the tolerance, by the ladder of meshes
    and the residual weighted for it, or that have no two neighbouring meshes yet.

    Parameters
    ----------
    meshes : sequence of skfem.MeshTri2, or Ladder
        Meshes in metres, coarsest first, two or more for an uncertainty.  Not all are used.
    air : Air
        The air's density, viscosity and speed of sound.
    rates : sequence of float
        Rising flow rates [m³/s].
    diameter : float
        Throat diameter [m], the scale of everything.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    model : Model
        Model of the flow; rates below its lowest Reynolds number have a record that says so.
    throat : (float, float), optional
        Axial start and end of the straight throat [m]; without it no jet contraction is sought.
    parts : mapping of str to (float, float), optional
        Axial start and end of each part [m], for the energy's budget; by default those that the
        meshes name.
    refinement_ratio : float
        How many times smaller the elements are from one mesh to the next.
    fields : Path, optional
        Directory for one `.vtu` file a rate, whose name is in the rate's record.
    tolerance : float
        Numerical uncertainty wanted of the pressure drop, as a share of it.
    least_levels : int, optional
        How many meshes every rate is solved on; all of them by default.
    remesh : callable, optional
        Makes the meshes again with first cells lower by a factor, where y⁺ is too large; without
        it the records say so.
    known : mapping of int to FlowAtRate, optional
        Records of rates, by index, that are not solved again.
    bore, dimensions : Bore, sequence of Dimension, optional
        What was meshed, and dimensions of it that derivatives are wanted by.

    Returns
    -------
    FlowResult
        One record for each rate, in their order.

    Raises
    ------
    ValueError
        If flow rates are not positive, do not rise or pass Mach 0.3.
    """
    warnings = check_rates(air, rates, diameter)
    scales = [rate_scale(air, float(rate), diameter) for rate in rates]
    reynolds = [scale.reynolds for scale in scales]
    known = known or {}
    chosen = [i not in known and x >= model.lowest_reynolds for i, x in enumerate(reynolds)]
    least = least_levels or len(meshes)
    variations = Variations(bore, dimensions, model) if bore and dimensions else None
    levels: list[Level] = []
    refinements = 0

    def add(mesh: MeshTri2, coarser: Level | None, wanted: Sequence[bool] = chosen) -> Level:
        return next_level(model, coarser, mesh, diameter, inlet, reynolds, wanted, variations)

    if any(chosen):
        coarsest = add(meshes[0], None)
        if remesh is not None:
            coarsest, meshes, refinements = resolve_wall(
                coarsest, meshes, remesh, add, refinement_ratio, least
            )
        levels.append(coarsest)
        for level in range(1, min(least, len(meshes))):
            levels.append(add(meshes[level], levels[-1]))

    def record(index: int) -> FlowAtRate:
        scale = scales[index]
        if index in known:
            return known[index]
        if not chosen[index]:
            return rate_without_solution(scale, _refusal(model, scale))
        numbers = neighbouring_levels(levels, index, min(least, 2))
        if not numbers:
            return rate_without_solution(scale, _lost(levels, index, min(least, 2)))
        solutions = [_solution(model, levels[number], index) for number in numbers]
        found = flow_at_rate(scale, solutions, throat, refinement_ratio, tolerance, parts)
        found = replace(found, mesh_levels=tuple(numbers))
        if variations is None:
            return found
        states = [levels[number].state(index) for number in numbers[-2:]]
        motions = [levels[number].motion for number in numbers[-2:]]
        known_to = known_share(found)
        slopes = drop_slopes(variations, scale, states, motions, refinement_ratio, known_to)
        return replace(found, by_dimension=slopes)

    records = [record(index) for index in range(len(rates))]
    while levels and len(levels) < len(meshes):
        wanted = [w and wants_refinement(one) for w, one in zip(chosen, records, strict=True)]
        if not any(wanted):
            break
        try:
            finer = meshes[len(levels)]
        except UnmeshedError as problem:
            warnings.append(f"no finer mesh for the rates that ask for one: {problem}")
            break
        levels.append(add(finer, levels[-1], wanted))
        records = [record(i) if again else records[i] for i, again in enumerate(wanted)]
    if fields is not None:
        for index in range(len(rates)):
            if chosen[index] and records[index].converged:
                finest, name = (
                    levels[records[index].mesh_levels[-1]],
                    field_name(float(rates[index])),
                )
                write_flow_field(fields / name, finest.problem, finest.state(index), scales[index])
                records[index] = replace(records[index], field=name)
    return FlowResult(
        model=model.name,
        model_options=model.options,
        inlet=inlet,
        tolerance=tolerance,
        rates=tuple(records),
        unknowns=tuple(len(level.problem.boundary.values) for level in levels),
        solver_steps=tuple(level.steps for level in levels),
        shortened_steps=tuple(level.failed_steps for level in levels),
        factorisations=tuple(
            sum(state.factorisations for state in level.states if state is not None)
            for level in levels
        ),
        solve_seconds=tuple(round(level.seconds, 3) for level in levels),
        wall_refinements=refinements,
        warnings=tuple(warnings),
    )


def _solution(model: Model, level: Level, index: int) -> Solution:
    state = level.state(index)
    problem = level.problem
    estimate = None if state.adjoint is None else level.goal_error.estimate(state)
    place = model.transition(state.reynolds)
    if place is None or place >= end_of(problem):
        return Solution(problem, state, level.sections, level.wall, estimate)
    by_place = problem.by_transition(state)
    return Solution(problem, state, level.sections, level.wall, estimate, by_place, place)


def _refusal(model: Model, scale: Scale) -> str:
    least = 1e3 * scale.flow_rate * model.lowest_reynolds / scale.reynolds
    return (
        f"refused: at a throat Reynolds number of {scale.reynolds:.0f} the {model.name} solution "
        "does not become laminar again as the air does (at 2000 it has 1.7 times the friction of a "
        f"pipe); it is allowed from {model.lowest_reynolds:.0f} on, here {least:.3g} L/s"
    )


def _lost(levels: Sequence[Level], index: int, least: int) -> str:
    solved = sum(level.states[index] is not None for level in levels)
    needed = "two neighbouring ones" if least > 1 else "one"
    return f"the iteration converged on {solved} of {len(levels)} meshes; needed are {needed}"


def neighbouring_levels(levels: Sequence[Level], index: int, least: int) -> list[int]:
    """Numbers of the finest run of neighbouring levels with a state, none if it is shorter.

    A rate that fails on a coarse mesh may well have an answer on finer ones.
    """
    run: list[int] = []
    for number in reversed(range(len(levels))):
        if levels[number].states[index] is not None:
            run.insert(0, number)
        elif len(run) >= least:
            break
        else:
            run = []
    return run if len(run) >= least else []
