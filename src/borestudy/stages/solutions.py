"""The laminar and the turbulent solutions of all cases, from their folders to one table."""

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from borestudy.compare.solutions import solution_rows
from borestudy.provenance import read_json


def write_solutions(folders: Mapping[str, Path], table: Path | str) -> None:
    """Both solutions of every case and rate beside each other.

    Parameters
    ----------
    folders : mapping
        Folder of each case, in the study's order.
    table : path
        The CSV to write.
    """
    laminar = {name: read_json(folder / "flow.json") for name, folder in folders.items()}
    closed = {name: read_json(folder / "closure.json") for name, folder in folders.items()}
    pd.DataFrame(solution_rows(laminar, closed)).to_csv(table, index=False, float_format="%.6g")
