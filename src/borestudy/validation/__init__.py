"""The flow solver against what is measured and what handbooks hold: ``snakemake validation``.

Each room solves one family of flows on meshes made as a study's are and returns a record that
holds what its checks and figures need.  They take minutes together, so they are a target of their
own and no part of a study.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from borestudy.results.check import Check
from borestudy.validation.bores import BoreChecks, solve_bores
from borestudy.validation.entry import EntryLosses, entry_checks, solve_entries
from borestudy.validation.ladder import Solved
from borestudy.validation.nozzle import NozzleFlow, nozzle_checks, solve_nozzle
from borestudy.validation.pipe import PipeFlow, pipe_checks, solve_pipe
from borestudy.validation.widening import Widenings, solve_widenings, widening_checks


@dataclass(frozen=True)
class Validation:
    """One family of flows: how it is solved, the record that it gives, and its checks."""

    solve: Callable[[Path], Solved]
    record: type[Solved]
    checks: Callable[[Any], list[Check]]


#: What is solved under which name, in the order of the table; each takes a folder for its meshes.
VALIDATIONS = {
    "pipe": Validation(solve_pipe, PipeFlow, pipe_checks),
    "entry": Validation(solve_entries, EntryLosses, entry_checks),
    "widening": Validation(solve_widenings, Widenings, widening_checks),
    "nozzle-laminar": Validation(partial(solve_nozzle, "laminar"), NozzleFlow, nozzle_checks),
    "nozzle-turbulent": Validation(partial(solve_nozzle, "turbulent"), NozzleFlow, nozzle_checks),
    "bores": Validation(solve_bores, BoreChecks, lambda bores: list(bores.checks)),
}
