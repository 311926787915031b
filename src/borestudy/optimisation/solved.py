"""One bore meshed and solved in this process, with the derivatives of all that is reported."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import Termination, build_termination
from borestudy.acoustics.two_port import TwoPort, solve_two_port
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.bore import Bore, Dimension, describe, passage
from borestudy.flow.boundary import Inlet
from borestudy.flow.meshes import FlowMeshes, solve_bore
from borestudy.flow.models.of_bore import BY_RULE, Transition
from borestudy.flow.refinement import with_floors
from borestudy.flow.regime import rate_scale
from borestudy.flow.result import FlowResult
from borestudy.flow.solve import TOLERANCE
from borestudy.mesh import ACOUSTICS, ESTIMATE, mesh_ladder
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import dimension_values
from borestudy.results.estimate import estimated_flow


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked of a bore, whichever it is: the settings of a study.

    Attributes
    ----------
    air : Air
        Air at rest, in both physics.
    frequency_range : (float, float) [Hz]
        Where resonances are looked for.
    walls, termination : str
        Losses at the walls, and what follows the shank end.
    air_column : path or None
        Stations of the instrument, where that follows.
    fundamental : float or None [Hz]
        Whose harmonics the resonances are compared with.
    rates : sequence of float [m³/s]
        All flow rates in question, rising; the meshes are made for the greatest.
    inlet, transition, tolerance
        See `borestudy.flow.meshes.solve_bore`.
    pipe_behind : float [m]
        Length of a straight pipe that the flow has after the shank, 0 without.
    resolution : str
        The study's word for its meshes, or ``draft``.
    """

    air: Air
    frequency_range: tuple[float, float] = (50.0, 5000.0)
    walls: Walls = "curved"
    termination: str = "anechoic pipe"
    air_column: Path | str | None = None
    fundamental: float | None = None
    rates: Sequence[float] = ()
    inlet: Inlet = "uniform"
    transition: Transition = BY_RULE
    tolerance: float = TOLERANCE
    pipe_behind: float = 0.0
    resolution: str = "medium"


def solve_case(
    name: str,
    bore: Bore,
    dimensions: Sequence[Dimension],
    question: Question,
    rates: Sequence[float] | None = None,
    sound: tuple[TwoPort, Termination] | None = None,
) -> CaseResults:
    """Mesh and solve a bore as a study does, in a folder that does not stay.

    Parameters
    ----------
    name : str
        What the results are called.
    bore : Bore
        What is solved.
    dimensions : sequence of Dimension
        By which every figure gets its derivative.
    question : Question
        What is asked of it.
    rates : sequence of float, optional
        Those of the question's flow rates [m³/s] that are solved; all by default, and no flow at
        all where it is empty.
    sound : (TwoPort, Termination), optional
        What `solve_sound` gives for the bore, if it is known already.

    Raises
    ------
    UnmeshedError
        If there is no mesh of the bore.
    """
    wanted = question.rates if rates is None else rates
    flow = _flow(bore, dimensions, question, wanted) if wanted else None
    pipe = question.pipe_behind
    way = passage(bore.extended(pipe) if pipe else bore)
    return CaseResults(
        name,
        {},
        describe(bore),
        acoustic_result(
            *(sound or solve_sound(bore, dimensions, question)), fundamental=question.fundamental
        ),
        estimated_flow(flow, way),
        dimensions=dimension_values(bore, dimensions),
    )


def solve_sound(
    bore: Bore, dimensions: Sequence[Dimension], question: Question
) -> tuple[TwoPort, Termination]:
    """The two-port of a bore with its derivatives, and what follows the shank end.

    Raises
    ------
    UnmeshedError
        If there is no mesh of the bore.
    """
    meshes = mesh_ladder(bore, ACOUSTICS.at(question.resolution))
    two_port = solve_two_port(
        meshes,
        question.air,
        *question.frequency_range,
        question.walls,
        bore=bore,
        dimensions=dimensions,
    )
    column = question.air_column
    return two_port, build_termination(
        question.termination, bore.shank_radius, question.walls, column
    )


def _flow(
    bore: Bore, dimensions: Sequence[Dimension], question: Question, rates: Sequence[float]
) -> FlowResult:
    """The best estimate at some of the rates, on meshes that serve the greatest of them all."""
    pipe = question.pipe_behind
    whole = bore.extended(pipe) if pipe else bore
    reynolds = rate_scale(question.air, max(question.rates), 2 * bore.throat_radius).reynolds
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{name}.msh" for name in ESTIMATE.names]
        files = FlowMeshes(whole, paths, ESTIMATE.kind, question.resolution, reynolds)
        files.make()
        found = solve_bore(
            files,
            question.air,
            list(rates),
            question.inlet,
            transition=question.transition,
            tolerance=question.tolerance,
            dimensions=[one.extended(bore, pipe) for one in dimensions] if pipe else dimensions,
        )
    return replace(
        found,
        rates=with_floors(found.rates, question.tolerance),
        pipe_behind_mm=1e3 * pipe,
    )
