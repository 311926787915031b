"""What a case's lips blow into: made from the two-ports and the flow, and kept in a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from borestudy.acoustics.stored import load_two_port
from borestudy.acoustics.termination import Termination, build_termination
from borestudy.acoustics.two_port import TwoPort, solve_two_port
from borestudy.bore import passage
from borestudy.files import refuse_damaged, replacing
from borestudy.flow.result import FlowResult
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import mark_unmeshed, why_unmeshed
from borestudy.playing.load import Load
from borestudy.playing.steady import SteadyDrop
from borestudy.records import read_record
from borestudy.results.estimate import ESTIMATE, EstimatedFlow, estimated_flow
from borestudy.results.loads import bore_loads, steady_drop
from borestudy.stages.geometry import read_bore

#: What is told where there is no air column, as `borestudy check` does.
NO_AIR_COLUMN = (
    "no air column behind the shank ({}): the lips start a tone of the mouthpiece {}, and not of "
    "an instrument"
)
NO_STREAM = "no flow rate was solved: the stream has no part in it"
#: What of a load is the same on every mesh, and the parts of a steady pressure drop.
SHARED = ("frequencies", "front", "behind", "to_shank", "throat_diameter", "density")
STEADY = ("rates", "drops", "slopes")


@dataclass(frozen=True)
class CaseLoads:
    """What a case's lips blow into.

    Attributes
    ----------
    loads : tuple of Load
        On each mesh of the bore, coarsest first.
    higher : SteadyDrop
        The steady pressure drop with its numerical uncertainty added.
    behind : str
        What is behind the shank, in words.
    note : str
        What a reader must be told of it; empty otherwise.
    trusted_below : float
        Frequency [Hz] above which what is behind the shank is no longer well modelled.
    """

    loads: tuple[Load, ...]
    higher: SteadyDrop
    behind: str
    note: str = ""
    trusted_below: float = np.inf


def loads_stage(
    *,
    whole: Path | str,
    halves: Sequence[Path | str],
    solutions: Mapping[str, Path | str],
    bore: Path | str,
    termination: str,
    air_column: Path | str | None,
    output: Path | str,
) -> None:
    """Join a case's two-ports and flow to what its lips blow into, and keep it.

    `whole` is the stored two-port, `halves` the meshes before and after the cut in the throat;
    `solutions` are the flow's results by model, of which the best estimate's counts.
    """
    if (reason := why_unmeshed(whole, *halves)) is not None:
        mark_unmeshed([output], reason)
        return
    uncut, drawn = load_two_port(whole), read_bore(bore)
    cut = [
        solve_two_port([read_mesh(half)], uncut.air, *uncut.range_Hz, uncut.walls)
        for half in halves
    ]
    end = build_termination(termination, uncut.shank_radius, uncut.walls, air_column)
    solved = read_record(solutions[ESTIMATE], FlowResult)
    pipe = 1e-3 * solved.pipe_behind_mm
    flow = estimated_flow(solved, passage(drawn.extended(pipe) if pipe else drawn))
    save_loads(case_loads(cut, uncut, end, flow, 2 * drawn.throat_radius), output)


def case_loads(
    halves: Sequence[TwoPort],
    whole: TwoPort,
    termination: Termination,
    flow: EstimatedFlow,
    throat_diameter: float,
) -> CaseLoads:
    """What a case's lips blow into, and what is to be said of it; see `bore_loads`."""
    steady, kind = steady_drop(flow), termination.kind
    where = "on its own pipe" if kind == "anechoic pipe" else "on its own"
    notes = [
        *([] if kind.startswith("air column") else [NO_AIR_COLUMN.format(kind, where)]),
        *([] if np.any(steady.drops) else [NO_STREAM]),
    ]
    return CaseLoads(
        bore_loads(halves, whole, termination, steady, throat_diameter),
        steady_drop(flow, 1.0),
        kind,
        "; ".join(notes),
        float(termination.trusted_below(whole.air)),
    )


def save_loads(found: CaseLoads, path: Path | str) -> None:
    """Write what lips blow into as an ``.npz``."""
    finest = found.loads[-1]
    arrays = {name: getattr(finest, name) for name in SHARED}
    arrays["corrections"] = np.stack([load.correction for load in found.loads])
    for part, steady in (("steady", finest.steady), ("higher", found.higher)):
        arrays |= {f"{part}.{name}": getattr(steady, name) for name in STEADY}
    for name in ("behind_shank", "note", "trusted_below"):
        arrays[name] = getattr(found, "behind" if name == "behind_shank" else name)
    with replacing(path) as unfinished:
        np.savez_compressed(unfinished, **arrays)


def read_loads(path: Path | str) -> CaseLoads:
    """Read what `save_loads` wrote.

    Raises
    ------
    FileError
        If the file is missing or not whole.
    """
    refuse_damaged(path)
    with np.load(path, allow_pickle=False) as stored:
        found = dict(stored)

    def steady(part: str) -> SteadyDrop:
        return SteadyDrop(*(found[f"{part}.{name}"] for name in STEADY))

    shared = {name: of.item() if (of := found[name]).ndim == 0 else of for name in SHARED}
    loads = (
        Load(**shared, correction=each, steady=steady("steady")) for each in found["corrections"]
    )
    return CaseLoads(
        tuple(loads),
        steady("higher"),
        str(found["behind_shank"]),
        str(found["note"]),
        float(found["trusted_below"]),
    )
