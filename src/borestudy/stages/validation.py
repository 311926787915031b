"""The program against a published measurement: a study that is solved, compared and drawn."""

from pathlib import Path

import pandas as pd

from borestudy.mesh import LAMINAR, write_meshes
from borestudy.provenance import read_json
from borestudy.results.tables.files import write_table
from borestudy.stages.flow import flow_stage
from borestudy.stages.geometry import write_bore
from borestudy.study import load_study
from borestudy.validation.nozzle_figure import draw_nozzle
from borestudy.validation.nozzle_laminar import nozzle_rows


def solve_validation(study_file: Path, folder: Path, source: str, results: Path) -> None:
    """Solve the steady flow of a study's first case.

    Parameters
    ----------
    study_file : Path
        The study.
    folder : Path
        Where bore, meshes and fields go.
    source : str
        Hash of the sources, for the provenance.
    results : Path
        ``flow.json``.
    """
    study = load_study(study_file)
    case = study.cases()[0]
    bore = case.build_bore()
    folder.mkdir(parents=True, exist_ok=True)
    write_bore(bore, folder / "bore.json")
    meshes = [folder / f"{name}.msh" for name in LAMINAR.names[: LAMINAR.levels]]
    write_meshes(bore, meshes, LAMINAR.at(study.mesh.resolution))
    flow_stage(
        bore=bore,
        meshes=meshes,
        air=case.build_air(),
        rates=[float(rate) for rate in study.flow_rates()],
        inlet=study.flow.inlet,
        source=source,
        results=results,
        fields=folder / "fields",
    )


def compare_validation(results: Path, bore: Path, table: Path, figures: Path) -> None:
    """Write computed against measured as a table and as a figure.

    Parameters
    ----------
    results, bore : Path
        What `solve_validation` wrote.
    table : Path
        The CSV to write.
    figures : Path
        Folder of the figure.
    """
    flow = read_json(results)
    edge = read_json(bore)["parts"]["throat"][0]
    rows = nozzle_rows(flow, edge)
    write_table(pd.DataFrame(rows), table, "%.5g")
    draw_nozzle(flow, rows, edge, figures)
