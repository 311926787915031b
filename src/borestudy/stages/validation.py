"""The program against measurements and handbooks: solved family by family, compared and drawn."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd

from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.tables.files import CHECK_COLUMNS, write_table
from borestudy.validation import VALIDATIONS, figures, nozzle


def solve_validation(flow: str, meshes: Path, source: str, results: Path) -> None:
    """Solve one family of flows, of `VALIDATIONS`, and write its record."""
    meshes.mkdir(parents=True, exist_ok=True)
    found = VALIDATIONS[flow].solve(meshes)
    files = {path.stem: path for path in sorted(meshes.glob("*.msh"))}
    write_record(results, replace(found, provenance=provenance(source, files)))


def compare_validation(results: Mapping[str, Path], checks: Path, taps: Path, folder: Path) -> None:
    """Write the checks of all flows as one table, the nozzle's taps as another, and draw."""
    found: dict[str, Any] = {
        flow: read_record(path, VALIDATIONS[flow].record) for flow, path in results.items()
    }
    rows = [check for flow, record in found.items() for check in VALIDATIONS[flow].checks(record)]
    columns = list(CHECK_COLUMNS)
    columns.insert(columns.index("computed") + 1, "uncertainty")
    cells = [{name: getattr(check, name) for name in columns} for check in rows]
    write_table(pd.DataFrame(cells), checks, "%.6g")
    flows = [found["nozzle-laminar"], found["nozzle-turbulent"]]
    compared = [row.row for flow in flows for row in nozzle.compare_nozzle(flow)]
    write_table(pd.DataFrame(compared), taps, "%.5g")
    figures.draw_friction(found["pipe"], folder)
    figures.draw_law_of_the_wall(found["pipe"], folder)
    figures.draw_entry_losses(found["entry"], folder)
    figures.draw_widening(found["widening"], folder)
    figures.draw_nozzle(flows[0], folder)
    figures.draw_nozzle_segments(flows, folder)
