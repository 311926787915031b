"""The turbulent closure against what is measured and what handbooks hold.

Each room solves one family of flows on meshes made as a study's are, on two levels, and returns
its checks with the lines that a figure needs, ready for JSON.  They take minutes together, so they
are a target of their own and no part of a study.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from borestudy.validation.bores import bore_checks
from borestudy.validation.entry import entry_losses
from borestudy.validation.nozzle_turbulent import nozzle_benchmark
from borestudy.validation.pipe import pipe_flow
from borestudy.validation.widening import widening_flows

#: What is solved under which name, in the order of the table; each takes a folder for its meshes.
FLOWS: dict[str, Callable[[Path], dict[str, Any]]] = {
    "pipe": pipe_flow,
    "entry": entry_losses,
    "widening": widening_flows,
    "nozzle": nozzle_benchmark,
    "bores": bore_checks,
}
