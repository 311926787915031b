"""A case's resonance on the steady stream at each flow rate."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from borestudy.acoustics import two_port as two_ports
from borestudy.acoustics.termination import build_termination
from borestudy.flow.result import FlowResult
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.merged_flow import merged_flow
from borestudy.results.spans import handbook_at, handbook_dimensions
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
    `solutions` are the flow's results by model.
    """
    if (reason := why_unmeshed(whole, *halves)) is not None:
        write_record(results, StreamResult(not_meshed=reason, provenance=provenance(source)))
        return
    uncut = two_ports.load(whole)
    front, back = (
        two_ports.solve_two_port([read_mesh(half)], uncut.air, *uncut.range_Hz, uncut.walls)
        for half in halves
    )
    end = build_termination(termination, uncut.shank_radius, uncut.walls, air_column)
    solved = {word: read_record(path, FlowResult) for word, path in solutions.items()}
    pipe = max((1e-3 * result.pipe_behind_mm for result in solved.values()), default=0.0)
    handbook = partial(handbook_at, handbook_dimensions(read_bore(bore), pipe))
    flow = merged_flow(solved.get("laminar"), solved.get("turbulent"), handbook)
    made = provenance(
        source,
        {"two_port": whole, "bore": bore, **solutions, "front": halves[0], "back": halves[1]},
        [half.finest.unknowns for half in (front, back)],
        max(half.finest.reduction.solve_residual for half in (front, back)),
    )
    found = stream_result(front, back, uncut, end, flow)
    write_record(results, replace(found, provenance=made))
