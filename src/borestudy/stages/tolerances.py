"""How the first case's quantities spread under the errors of a workshop.

Everything comes from what the case was solved for already.  Where first order is not enough for
the flow, it is solved again with one dimension in error, either way: on coarse meshes, and for an
error of several tolerances, so that the difference of the derivatives stands clear of what two
meshes differ by.
"""

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from borestudy.acoustics.result import AcousticResult
from borestudy.acoustics.stored import load_two_port
from borestudy.acoustics.termination import Termination, build_termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.air import Air
from borestudy.bore import Bore, BoreDescription, Dimension, Tolerance, passage, tolerances_of
from borestudy.flow.boundary import Inlet
from borestudy.flow.meshes import FlowMeshes, solve_bore
from borestudy.flow.models.of_bore import BY_RULE, Transition
from borestudy.flow.regime import rate_scale
from borestudy.flow.result import FlowResult
from borestudy.mesh import ESTIMATE, UnmeshedError
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.case import FLOW_FILES, CaseResults
from borestudy.results.dimensions import dimension_values
from borestudy.results.estimate import estimated_flow
from borestudy.results.nonlinear import SecondOrder, second_order, worth_solving
from borestudy.results.reported import Reported, reported
from borestudy.results.tolerances import distributions
from borestudy.stages.geometry import read_bore, read_dimensions
from borestudy.study import Case
from borestudy.study.tolerances import bore_in_error

logger = logging.getLogger(__name__)

#: How many tolerances a dimension is changed by, either way, and on which meshes.
STEPS = 2
RESOLUTION = "coarse"
InError = Callable[[Tolerance, float], tuple[Bore, Sequence[Dimension]]]


@dataclass(frozen=True, kw_only=True)
class FlowAsked:
    """What is asked of the flow of a bore, whichever it is.

    Flow rates are in m³/s and rise; the length of the straight pipe behind the shank is in m.
    """

    air: Air
    rates: Sequence[float]
    inlet: Inlet = "uniform"
    transition: Transition = BY_RULE
    pipe_behind: float = 0.0
    resolution: str = RESOLUTION


def tolerance_stage(
    *,
    case: Case,
    folder: Path | str,
    flow: FlowAsked,
    tolerance: float,
    stated: Mapping[str, float],
    termination: str,
    air_column: Path | str | None,
    source: str,
    output: Path | str,
) -> None:
    """Write the distributions of a case's quantities, as a `ToleranceResult`.

    Parameters
    ----------
    case : Case
        The study's first.
    folder : path
        The case's, with its bore, dimensions, two-port, resonances and flow.
    flow : FlowAsked
        What was asked of its flow.
    tolerance, stated
        See `borestudy.bore.tolerances.tolerances_of`.
    termination, air_column : str, path or None
        What follows the shank end.
    source : str
        Hash of the sources, for the provenance.
    output : path
        The JSON file.
    """
    folder = Path(folder)
    bore = read_bore(folder / "bore.json")
    dimensions = read_dimensions(folder / "dimensions.json")
    pipe = flow.pipe_behind
    way = passage(bore.extended(pipe) if pipe else bore)
    results = CaseResults(
        case.name,
        geometry=read_record(folder / "bore.json", BoreDescription),
        acoustics=read_record(folder / "acoustics.json", AcousticResult),
        flow=estimated_flow(read_record(folder / FLOW_FILES[ESTIMATE.kind], FlowResult), way),
        dimensions=dimension_values(bore, dimensions),
    )
    tolerances = tolerances_of(dimensions, tolerance, stated)
    two_port, end = _sound(folder / "two_port.npz", termination, air_column)
    found = distributions(
        results,
        tolerances,
        two_port=two_port,
        termination=end,
        second=bent_flow(results, tolerances, flow, partial(bore_in_error, case)),
    )
    write_record(output, replace(found, provenance=provenance(source)))


def bent_flow(
    results: CaseResults, tolerances: Sequence[Tolerance], flow: FlowAsked, in_error: InError
) -> SecondOrder:
    """Second derivatives of the flow's quantities, nothing where first order is enough.

    Parameters
    ----------
    results : CaseResults
        Of the bore as drawn, with derivatives by its dimensions.
    tolerances : sequence of Tolerance
        All errors.
    flow : FlowAsked
        What is asked of the flow; the resolution is that of the bores in error.
    in_error : callable
        Makes the bore with an error of an amount [SI], and its dimensions.
    """
    drawn, solved = reported(results), {}
    for error in worth_solving(drawn, tolerances):
        try:
            solved[error.key] = (
                _flow_of(*in_error(error, -STEPS * error.limit), flow),
                _flow_of(*in_error(error, STEPS * error.limit), flow),
            )
        except (UnmeshedError, ValueError) as problem:
            logger.warning("%s: no second order: %s", error.label, problem)
    return second_order(drawn, solved, tolerances, STEPS)


def _sound(
    stored: Path, termination: str, air_column: Path | str | None
) -> tuple[TwoPort | None, Termination | None]:
    """The two-port and what follows it; neither where there was no mesh."""
    if why_unmeshed(stored) is not None:
        return None, None
    two_port = load_two_port(stored)
    end = build_termination(termination, two_port.shank_radius, two_port.walls, air_column)
    return two_port, end


def _flow_of(bore: Bore, dimensions: Sequence[Dimension], flow: FlowAsked) -> dict[str, Reported]:
    """The flow's quantities of a bore, which has no pipe behind it yet."""
    whole, own = bore, list(dimensions)
    if flow.pipe_behind:
        whole = bore.extended(flow.pipe_behind)
        own = [one.extended(bore, flow.pipe_behind) for one in own]
    reynolds = rate_scale(flow.air, max(flow.rates), 2 * bore.throat_radius).reynolds
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{name}.msh" for name in ESTIMATE.names[: ESTIMATE.levels]]
        files = FlowMeshes(whole, paths, ESTIMATE.kind, flow.resolution, reynolds)
        files.make()
        found = solve_bore(
            files,
            flow.air,
            list(flow.rates),
            flow.inlet,
            transition=flow.transition,
            dimensions=own,
        )
    return reported(CaseResults("in error", flow=estimated_flow(found, passage(whole))))
