"""The turbulent closure against measurements and handbooks: solved, compared and drawn."""

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from borestudy.provenance import provenance, read_json, write_json
from borestudy.results.tables.files import CHECK_COLUMNS, write_table
from borestudy.validation import FLOWS
from borestudy.validation.figures import draw_closure_validation


def solve_closure_validation(flow: str, meshes: Path, source: str, results: Path) -> None:
    """Solve one family of flows.

    Parameters
    ----------
    flow : str
        One of `FLOWS`.
    meshes : Path
        Folder for its meshes.
    source : str
        Hash of the sources, for the provenance.
    results : Path
        JSON of its checks and of the lines of its figure.
    """
    found = FLOWS[flow](meshes)
    files = {path.stem: path for path in sorted(meshes.glob("*.msh"))}
    write_json(results, found | {"provenance": provenance(source, files, [], None)})


def validate_closure(
    results: Mapping[str, Path], checks: Path, segments: Path, figures: Path
) -> None:
    """Collect all checks in one table, the nozzle's segments in another, and draw.

    Parameters
    ----------
    results : mapping of str to Path
        What `solve_closure_validation` wrote, by flow.
    checks, segments : Path
        The tables to write.
    figures : Path
        Folder of the figures.
    """
    found = {flow: read_json(path) for flow, path in results.items()}
    rows = [row for flow in found.values() for row in flow["checks"]]
    columns = list(CHECK_COLUMNS)
    columns.insert(columns.index("computed") + 1, "uncertainty")
    write_table(pd.DataFrame(rows)[columns], checks, "%.6g")
    write_table(pd.DataFrame(found["nozzle"]["segments"]), segments, "%.4g")
    draw_closure_validation(found, figures)
