"""A finished study with the meshes of one case lost, and all that follows from them made again."""

import shutil

import numpy as np

from borestudy.flow.regime import rate_scale
from borestudy.mesh.unmeshed import mark_unmeshed
from borestudy.provenance import provenance
from borestudy.records import write_record
from borestudy.stages.acoustics import resonance_stage, two_port_stage
from borestudy.stages.air import read_air
from borestudy.stages.collation import collate
from borestudy.stages.flow import unmeshed_flow
from borestudy.stages.geometry import read_bore
from borestudy.stages.presentation import draw_figures, make_report
from borestudy.stages.stream import stream_stage
from borestudy.study import load_study

REASON = "gmsh made no mesh of this bore: it reached the limit of 1 GB of memory"
TABLES = ("cases", "comparison", "peaks", "flow", "impedance", "stream", "energy",
          "separations", "verification", "sensitivities", "tolerances", "budget",
          "hand_formulas")  # fmt: skip


def lose(finished, folder, name):
    """Copy a study's results to a folder, in which a case has no mesh."""
    shutil.copytree(finished, folder)
    study, home = load_study(folder / "resolved.yaml"), folder / "cases" / name
    air = folder / "air" / "all-cases.json"
    rates = [float(rate) for rate in study.flow_rates()]
    sound = sorted((home / "mesh").glob("acoustics-*.msh"))
    mark_unmeshed(sound, REASON)
    two_port_stage(sound, read_air(air), (500.0, 16000.0), "curved", home / "two_port.npz")
    resonance_stage(
        name=name, stored=home / "two_port.npz", mesh=sound[-1], termination="closed",
        air_column=None, frequencies=np.linspace(500.0, 16000.0, study.resonance.points),
        fundamental=None, source="", results=home / "acoustics.json",
        impedance=home / "impedance.csv", fields=home / "acoustics",
    )  # fmt: skip
    diameter = 2 * read_bore(home / "bore.json").throat_radius
    scales = [rate_scale(read_air(air), rate, diameter) for rate in rates]
    for model in ("estimate", "laminar", "turbulent"):
        found = unmeshed_flow(model, scales, REASON, provenance(""))
        write_record(home / f"flow-{model}.json", found)
    stream_stage(
        whole=home / "two_port.npz", halves=[], solutions={}, bore=home / "bore.json",
        termination="closed", air_column=None,
        source="", results=home / "stream.json",
    )  # fmt: skip
    outputs = {table: folder / f"{table}.csv" for table in TABLES}
    checks = [folder / "verification" / f"{physics}.csv" for physics in ("acoustics", "flow")]
    outputs["answers"] = folder / "answers.json"
    collate(study, folder, checks, folder / "tolerances.json", air, outputs)
    shutil.rmtree(folder / "figures")
    (folder / "figures").mkdir()
    draw_figures(study, folder, folder / "figures")
    make_report(study, folder, air, {}, folder / "report.html", folder / "comparison.tex")
