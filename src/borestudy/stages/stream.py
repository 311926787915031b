"""A case's resonance on the steady stream at each flow rate."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from borestudy.acoustics.stored import load_two_port
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.bore import passage
from borestudy.flow.result import FlowResult
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.estimate import ESTIMATE, estimated_flow
from borestudy.results.stream import StreamResult, stream_result
from borestudy.stages.geometry import read_bore


def stream_stage(
    *,
    whole: Path | str,
    halves: Sequence[Path | str],
    solutions: Mapping[str, Path | str],
    bore: Path | str,
    termination: str,
    air_column: Path | str | None,
    source: str,
    results: Path | str,
) -> None:
    """Put the flow's slope into the throat as a resistance, and write what becomes of the peak.

    `whole` is the stored two-port, `halves` the meshes before and after the cut in the throat;
    `solutions` are the flow's results by model, of which the best estimate's slope counts.
    """
    if (reason := why_unmeshed(whole, *halves)) is not None:
        write_record(results, StreamResult(not_meshed=reason, provenance=provenance(source)))
        return
    uncut = load_two_port(whole)
    front, back = (
        solve_two_port([read_mesh(half)], uncut.air, *uncut.range_Hz, uncut.walls)
        for half in halves
    )
    end = build_termination(termination, uncut.shank_radius, uncut.walls, air_column)
    solved = read_record(solutions[ESTIMATE], FlowResult)
    drawn, pipe = read_bore(bore), 1e-3 * solved.pipe_behind_mm
    flow = estimated_flow(solved, passage(drawn.extended(pipe) if pipe else drawn))
    made = provenance(
        source,
        {"two_port": whole, "bore": bore, **solutions, "front": halves[0], "back": halves[1]},
        [half.finest.unknowns for half in (front, back)],
        max(half.finest.reduction.solve_residual for half in (front, back)),
    )
    found = stream_result(front, back, uncut, end, flow)
    write_record(results, replace(found, provenance=made))
