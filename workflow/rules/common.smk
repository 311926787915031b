"""The study, where its results go, and what the rules ask about it."""

import atexit
import os
import sys
from pathlib import Path

from snakemake.utils import min_version, update_config

from borestudy.provenance import source_hash
from borestudy.mesh.presets import ACOUSTICS, LAMINAR, TURBULENT
from borestudy.stages.jobs import announce_run
from borestudy.stages.check import refuse_impossible
from borestudy.stages.plan import air_name, results_folder
from borestudy.study import StudyError, read_yaml, study_from_mapping

min_version("9.0")

DEMONSTRATION = "configs/entry-rounding.yaml"


def study_file():
    """The one study file; the demonstration where none is given."""
    # Not by `configfile:`, which would merge the demonstration into the study that is given.
    files = [str(path) for path in workflow.overwrite_configfiles or []]
    if len(files) > 1:
        raise StudyError(
            f"--configfile: found {', '.join(files)}; allowed is one study file, "
            f"for example {DEMONSTRATION}"
        )
    path = files[0] if files else os.path.join(workflow.basedir, DEMONSTRATION)
    return Path(os.path.relpath(path))


def read_study(path):
    """The validated study, with what --config says on top."""
    contents = read_yaml(path)
    if isinstance(contents, dict):
        update_config(contents, config)
    try:
        found = study_from_mapping(contents, path.parent, path.stem)
        # Jobs on other nodes read this again, and need not be warned again.
        if workflow.is_main_process:
            refuse_impossible(found)
    except StudyError as problem:
        raise StudyError(f"{path}:\n{problem}") from None
    return found


def say_last(line):
    """Print a line after all that Snakemake has to say."""
    atexit.register(print, line, flush=True)


def say_where_the_report_is():
    """Name the report, unless other targets than the study's own left it as it was."""
    if not set(workflow.dag_settings.targets) - {"all"}:
        print(f"Report: {result('report.html')}", flush=True)


def say_where_the_report_was():
    """Name the report of a run (no dry one, no summary or drawing of the jobs) without any job."""
    ran = workflow.is_main_process and workflow.scheduler and not workflow.dryrun
    if ran and len(workflow.dag) == 0:
        say_where_the_report_is()


announce_run()
try:
    STUDY_FILE = study_file()
    STUDY = read_study(STUDY_FILE)
    RESULTS = results_folder(STUDY_FILE).as_posix()
except StudyError as problem:
    # Whoever wrote the study needs the message, and no traceback.
    sys.exit(str(problem))

CASES = {case.name: case for case in STUDY.cases()}
FIRST_CASE = next(iter(CASES.values()))
#: The models of the flow that the study asks for, with their meshes.
MODELS = {
    preset.kind: preset
    for preset in (LAMINAR, TURBULENT)
    if STUDY.flow.closure in (preset.kind, "both")
}
#: Names of a case's meshes.
HALVES = ["acoustics-front", "acoustics-back"]
MESHES = ACOUSTICS.names + HALVES
MESHES += [name for preset in MODELS.values() for name in preset.names]
AIRS = {air_name(case): case.air for case in CASES.values()}


wildcard_constraints:
    case=r"[^/]+",
    air=r"[^/]+",
    model="laminar|turbulent",
    level=r"\d+",


def result(path):
    """Path of a result, from its place in the study's folder."""
    return f"{RESULTS}/{path}"


def of_all_cases(path):
    """Paths of one result in every case's folder."""
    return [result(f"cases/{case}/{path}") for case in CASES]


def documented_results():
    """Every file that results/README.md says a study leaves."""
    study = [
        *("report.html", "verdict.txt", "resolved.yaml", "study-file.txt", "figures"),
        *("cases.csv", "comparison.csv", "peaks.csv", "flow.csv", "impedance.csv"),
        *("energy.csv", "separations.csv", "stream.csv", "verification.csv"),
        *("tolerances.csv", "budget.csv", "benchmarks.csv", "answers.json"),
    ]
    case = [
        *("bore.json", "two_port.npz", "acoustics.json", "acoustics", "impedance.csv"),
        "stream.json",
        *(f"flow-{model}{ending}" for model in MODELS for ending in ("", ".json")),
        *(f"mesh/{mesh}.msh" for mesh in MESHES),
    ]
    return [
        *(result(path) for path in study),
        *(path for name in case for path in of_all_cases(name)),
    ]


def mesh_files(names):
    """Paths of a case's meshes."""
    return [result(f"cases/{{case}}/mesh/{name}.msh") for name in names]


def log_file(rule, *wildcards):
    """Path of a rule's log, one for each case where it has one."""
    return result(os.path.join("logs", rule, *wildcards) + ".log")


def benchmark_file(rule, *wildcards):
    """Path of a rule's time and memory."""
    return result(os.path.join("benchmarks", rule, *wildcards) + ".tsv")


def input_of_air(wildcards):
    """File with the constants of a case's air."""
    return result(f"air/{air_name(CASES[wildcards.case])}.json")


def stations_of_case(wildcards):
    """Measured stations of a case, where it has them."""
    return [str(path) for path in CASES[wildcards.case].input_files()]


def stations_of_first_case(wildcards):
    """Measured stations of the first case, where it has them."""
    return [str(path) for path in FIRST_CASE.input_files()]


def bore_of_case(wildcards):
    """Everything that a case's bore is made from."""
    return CASES[wildcards.case].description()["bore"]


def directory_of_stations(wildcards):
    """Folder in which a case's stations are looked for."""
    return CASES[wildcards.case].directory.as_posix()


def conditions_of_air(wildcards):
    """Temperature [K], relative humidity and pressure [Pa]."""
    names = ("temperature", "relative_humidity", "pressure")
    return dict(zip(names, AIRS[wildcards.air].values(), strict=True))


def air_column_file(wildcards):
    """Stations of the air column behind the shank, where there is one."""
    path = STUDY.air_column_file()
    return [] if path is None else str(path)


def termination_words():
    """What follows the shank end, in words."""
    return "air column" if STUDY.air_column_file() else STUDY.resonance.behind


def frequency_range():
    """Lowest and highest frequency [Hz]."""
    return list(STUDY.frequency_range())


def fundamental():
    """Fundamental whose harmonics resonances are compared with [Hz]."""
    asked = STUDY.resonance.fundamental
    return None if asked is None else asked.value


def solutions_of_case(wildcards):
    """Results of each solution of the flow that the study asks for."""
    return [result(f"cases/{wildcards.case}/flow-{model}.json") for model in MODELS]


def flow_of_all_cases():
    """Results of all cases' flow, each solution's."""
    return [path for model in MODELS for path in of_all_cases(f"flow-{model}.json")]


def flow_fields_of_all_cases():
    """Folders of all cases' flow fields, each solution's."""
    return [path for model in MODELS for path in of_all_cases(f"flow-{model}")]


def flow_meshes_of_all_cases():
    """The mesh of each case that is pictured."""
    preset = next(iter(MODELS.values()))
    return of_all_cases(f"mesh/{preset.names[preset.finest]}.msh")


def first_air(wildcards):
    """Constants of the first case's air, in which the checks are solved."""
    return result(f"air/{next(iter(AIRS))}.json")


def all_benchmarks():
    """Files of all jobs that are done before the tables are made."""
    single = [
        benchmark_file(rule)
        for rule in ("verify_acoustics", "verify_flow", "tolerances")
    ]
    airs = [benchmark_file("air", air) for air in AIRS]
    flows = [f"flow-{model}" for model in MODELS]
    rules_of_cases = ("mesh", "two_port", "resonance", *flows, "stream")
    return (
        single
        + airs
        + [benchmark_file(rule, case) for rule in rules_of_cases for case in CASES]
    )
