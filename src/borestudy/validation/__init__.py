"""The flow solver against what is measured and what handbooks hold: ``snakemake validation``.

Each room solves one family of flows on meshes made as a study's are and returns a record that
holds what its checks, comparison errors and figures need.  They take minutes together, so they are
a target of their own and no part of a study.  All families but the smooth pipe and the entries from
a reservoir are solved with the best estimate.

Measurements that were looked for and not found as numbers: the open nozzle benchmark with its
square edge first at other Reynolds numbers than these, and pressures of the reversed nozzle at 2000
and above; places of transition or reattachment behind square edges against the Reynolds number;
slow cones below a Reynolds number of 7500 (Squire 1950, Sprenger 1959, McDonald & Fox 1966, Sovran
& Klomp 1967: none readable); entries with rounded edges below 1e4 (quadrant edges: Lakshmana Rao &
Sridharan 1972, Alvi et al. 1978, abstracts alone); sudden enlargements between 500 and 10 000
(Stieglmeier et al. 1989, Oliveira et al. 1998, abstracts alone).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation.bores import BoreChecks, solve_bores
from borestudy.validation.entry import EntryLosses, entry_checks, solve_entries
from borestudy.validation.ladder import Solved
from borestudy.validation.nozzle import NozzleFlow, nozzle_checks, nozzle_errors, solve_nozzle
from borestudy.validation.orifices import (
    OrificeDrops,
    orifice_checks,
    orifice_errors,
    solve_orifices,
)
from borestudy.validation.pipe import PipeFlow, pipe_checks, pipe_errors, solve_pipe
from borestudy.validation.playing import (
    PlayingDrops,
    playing_checks,
    simulation_errors,
    solve_playing,
)
from borestudy.validation.reversed_nozzle import JetFlow, reversed_checks, solve_reversed
from borestudy.validation.widening import (
    Widenings,
    solve_widenings,
    widening_checks,
    widening_errors,
)


def none(_: Any) -> list[ComparisonError]:
    """No comparison errors."""
    return []


@dataclass(frozen=True)
class Validation:
    """One family of flows: how it is solved, the record that it gives, its checks and errors."""

    solve: Callable[[Path], Solved]
    record: type[Solved]
    checks: Callable[[Any], list[Check]]
    errors: Callable[[Any], list[ComparisonError]] = none


def _nozzle(model: str) -> Validation:
    return Validation(partial(solve_nozzle, model), NozzleFlow, nozzle_checks, nozzle_errors)


#: What is solved under which name, in the order of the tables; each takes a folder for its meshes.
VALIDATIONS = {
    "pipe": Validation(solve_pipe, PipeFlow, pipe_checks, pipe_errors),
    # turbulent from the rim plane on, so that the errors are not the best estimate's
    "entry": Validation(solve_entries, EntryLosses, entry_checks),
    "orifices": Validation(solve_orifices, OrificeDrops, orifice_checks, orifice_errors),
    "widening": Validation(solve_widenings, Widenings, widening_checks, widening_errors),
    "nozzle-estimate": _nozzle("estimate"),
    "nozzle-laminar": _nozzle("laminar"),
    "nozzle-turbulent": _nozzle("turbulent"),
    "reversed-nozzle": Validation(solve_reversed, JetFlow, reversed_checks),
    "playing": Validation(solve_playing, PlayingDrops, playing_checks, simulation_errors),
    "bores": Validation(solve_bores, BoreChecks, lambda bores: list(bores.checks)),
}
