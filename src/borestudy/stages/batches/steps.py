"""The steps of a case: what each depends on, what it reads, what it leaves."""

from dataclasses import asdict
from typing import Any

import numpy as np

from borestudy.bore import Bore
from borestudy.flow.models.of_bore import Transition
from borestudy.mesh import ESTIMATE
from borestudy.provenance import file_hash, source_hash
from borestudy.stages.acoustics import resonance_stage, two_port_stage
from borestudy.stages.batches.lips import SOURCES_OF_LIPS, STEPS_OF_LIPS
from borestudy.stages.batches.step import Step, termination_settings
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.flow import flow_stage
from borestudy.stages.geometry import (
    mesh_stage,
    read_bore,
    read_dimensions,
    write_bore,
    write_dimensions,
    write_measurement,
)
from borestudy.stages.layout import OF_MEASURED, Layout
from borestudy.stages.measured import measurement_record
from borestudy.stages.stream import stream_stage

#: What a change in would not change the turbulent solution, nor the laminar one.
OF_ESTIMATE = ("borestudy.flow.models.estimate", "borestudy.bore.passage")
OF_TURBULENCE = tuple(
    f"borestudy.flow.models.spalart_allmaras{module}"
    for module in (
        "", ".model", ".equations", ".elements", ".flux", ".pointwise", ".distance", ".onset",
        ".place",
    )
)  # fmt: skip
#: Modules whose sources decide a step's results, and those among what they import that do not.
SOURCES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    # The air gives the study its limits of temperature, and a bore nothing; lips neither.
    "mesh": (
        ("borestudy.stages.geometry", "borestudy.stages.measured", "borestudy.study.study"),
        ("borestudy.air", "borestudy.study.lips", "borestudy.playing.lips"),
    ),
    # The stage's module asks more of a two-port in the next step, which solves nothing anew.
    "two_port": (
        ("borestudy.stages.acoustics",),
        ("borestudy.acoustics.solve", "borestudy.acoustics.termination"),
    ),
    "resonance": (("borestudy.stages.acoustics",), ()),
    "flow-estimate": (("borestudy.stages.flow",), ()),
    "flow-laminar": (("borestudy.stages.flow",), (*OF_ESTIMATE, *OF_TURBULENCE)),
    "flow-turbulent": (("borestudy.stages.flow",), OF_ESTIMATE),
    "stream": (("borestudy.stages.stream",), ()),
    **SOURCES_OF_LIPS,
}
#: Kinds of files that a study may do without, and the patterns that find them in a case's folder.
KINDS = {
    "meshes": ("mesh/*.msh",),
    "fields": ("acoustics/*.vtu", "flow-*/*.vtu", "solved/**/*"),
    "sounds": ("tone-*.wav",),
}


def steps_of(layout: Layout) -> dict[str, Step]:
    """The steps of each case of a study by their names, in the order in which they are done."""
    known = {step.name: step for step in (MESH, TWO_PORT, RESONANCE, STREAM)}
    known |= {step.name: step for step in STEPS_OF_LIPS}
    known |= {f"flow-{model}": _flow_step(model) for model in layout.models}
    return {name: known[name] for name in layout.steps}


def sources_of(layout: Layout) -> dict[str, str]:
    """Hash of the sources that decide each step's results, by the step's name."""
    return {
        name: source_hash(*modules, without=without)
        for name, (modules, without) in SOURCES.items()
        if name in layout.steps
    }


def write_shape(work: CaseWork) -> Bore:
    """Write what is known of a case's bore without a mesh, and return the bore."""
    bore, home = work.case.build_bore(), work.home
    write_bore(bore, home / "bore.json", work.case.station_doubts())
    write_dimensions(work.case.dimensions(), home / "dimensions.json")
    measurement = [home / name for name in work.layout.of_measured()]
    write_measurement(measurement_record(work.case), measurement)
    return bore


def _mesh(work: CaseWork) -> None:
    bore = write_shape(work)
    mesh_stage(bore, work.study.mesh.resolution, work.acoustic_meshes, work.halves)


def _mesh_settings(work: CaseWork) -> dict[str, Any]:
    return {
        "bore": work.case.description()["bore"],
        "files": [file_hash(path) for path in work.case.input_files()],
        "resolution": work.study.mesh.resolution,
    }


def _two_port(work: CaseWork) -> None:
    two_port_stage(
        work.acoustic_meshes,
        work.air,
        work.study.frequency_range(),
        work.study.resonance.walls,
        work.home / "two_port.npz",
        read_bore(work.home / "bore.json"),
        read_dimensions(work.home / "dimensions.json"),
    )


def _two_port_settings(work: CaseWork) -> dict[str, Any]:
    return {
        "air": asdict(work.air),
        "range_Hz": work.study.frequency_range(),
        "walls": work.study.resonance.walls,
    }


def _resonance(work: CaseWork) -> None:
    study = work.study
    resonance_stage(
        name=work.case.name,
        stored=work.home / "two_port.npz",
        mesh=work.acoustic_meshes[-1],
        termination=study.termination(),
        air_column=work.air_column,
        frequencies=np.linspace(*study.frequency_range(), study.resonance.points),
        fundamental=study.fundamental(),
        source=work.sources["resonance"],
        results=work.home / "acoustics.json",
        impedance=work.home / "impedance.csv",
        fields=work.home / "acoustics",
    )


def _resonance_settings(work: CaseWork) -> dict[str, Any]:
    return termination_settings(work) | {
        "points": work.study.resonance.points,
        "fundamental_Hz": work.study.fundamental(),
    }


def _flow_step(model: str) -> Step:
    def transition(work: CaseWork) -> dict[str, Any]:
        # Which of the best estimate alone is asked.
        return dict(work.study.flow.transition.settings()) if model == ESTIMATE.kind else {}

    def run(work: CaseWork) -> None:
        study = work.study
        flow_stage(
            model=model,
            bore=read_bore(work.home / "bore.json"),
            meshes=work.flow_meshes(model),
            air=work.air,
            rates=study.flow_rates().tolist(),
            inlet=study.flow.inlet,
            resolution=study.mesh.resolution,
            transition=Transition(**transition(work)),
            pipe_behind=study.pipe_behind(),
            tolerance=study.flow.tolerance.value,
            source=work.sources[f"flow-{model}"],
            results=work.home / f"flow-{model}.json",
            fields=work.home / f"flow-{model}",
            dimensions=read_dimensions(work.home / "dimensions.json"),
        )

    def settings(work: CaseWork) -> dict[str, Any]:
        study = work.study
        return {
            "air": asdict(work.air),
            "rates_m3_per_s": study.flow_rates().tolist(),
            "inlet": study.flow.inlet,
            "pipe_behind_m": study.pipe_behind(),
            "transition": transition(work),
            "tolerance": study.flow.tolerance.value,
        }

    name = f"flow-{model}"
    files = (f"{name}.json", f"{name}/*.vtu", f"mesh/{model}-*.msh", f"solved/{name}/**/*")
    return Step(name, run, settings, files, needs=("mesh",))


def _stream(work: CaseWork) -> None:
    model = ESTIMATE.kind  # the extremes have no part in it
    stream_stage(
        whole=work.home / "two_port.npz",
        halves=work.halves,
        solutions={model: work.home / f"flow-{model}.json"},
        bore=work.home / "bore.json",
        termination=work.study.termination(),
        air_column=work.air_column,
        source=work.sources["stream"],
        results=work.home / "stream.json",
    )


MESH = Step(
    "mesh",
    _mesh,
    _mesh_settings,
    ("bore.json", "dimensions.json", *OF_MEASURED, "mesh/acoustics-*.msh"),
)
TWO_PORT = Step(
    "two_port", _two_port, _two_port_settings, ("two_port.npz",), ("mesh",), reads_meshes=True
)
RESONANCE = Step(
    "resonance",
    _resonance,
    _resonance_settings,
    ("acoustics.json", "impedance.csv", "acoustics/*.vtu"),
    ("two_port",),
    reads_meshes=True,
)
STREAM = Step(
    "stream",
    _stream,
    termination_settings,
    ("stream.json",),
    ("two_port", f"flow-{ESTIMATE.kind}"),
    reads_meshes=True,
)
