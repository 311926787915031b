"""Files of a study's results: what each rule of the workflow reads and writes."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from borestudy.mesh import ACOUSTICS, ESTIMATE, LAMINAR, TURBULENT, Preset
from borestudy.results.tables.sizes import TABLES_OF_CASES, is_large
from borestudy.stages.plan import RESULTS, VERIFICATIONS, air_name
from borestudy.study import Case, Study
from borestudy.study.models import MeasuredBore

#: What an air is made from.
CONDITIONS = ("temperature", "relative_humidity", "pressure")
#: Meshes of the bore cut in its throat, for what the stream does to the resonance.
HALVES = ("acoustics-front", "acoustics-back")
#: What results/README.md says a study leaves, and each of its cases beside the flow's and meshes.
OF_STUDY = (
    "report.html", "verdict.txt", "resolved.yaml", "study-file.txt", "figures", "cases.csv",
    "comparison.csv", "comparison.tex", "peaks.csv", "flow.csv", "impedance.csv", "energy.csv",
    "separations.csv",
    "stream.csv", "sensitivities.csv", "verification.csv", "tolerances.csv", "budget.csv",
    "hand_formulas.csv", "benchmarks.csv", "answers.json", "verification/acoustics.json",
    "verification/flow.json",
)  # fmt: skip
OF_CASE = ("bore.json", "dimensions.json", "two_port.npz", "acoustics.json", "acoustics",
           "impedance.csv", "stream.json")  # fmt: skip
#: What each case of a study of measured bores leaves besides.
OF_MEASURED = ("measurement.json",)
#: What a study with a wish leaves besides.
OF_WISH = ("wishes.csv", "wish/wish.json")
#: What a study with claims leaves besides.
OF_CLAIMS = ("claims.csv", "claims.html")


@dataclass(frozen=True)
class Layout:
    """The files of one study; methods with ``wildcards`` are Snakemake's input functions."""

    study: Study
    folder: str

    @cached_property
    def cases(self) -> dict[str, Case]:
        """The study's cases by their names, the first of them the reference."""
        return {case.name: case for case in self.study.cases()}

    @cached_property
    def airs(self) -> dict[str, Case]:
        """A case of each air that differs, by the air's name."""
        return {air_name(case): case for case in self.cases.values()}

    @cached_property
    def models(self) -> dict[str, Preset]:
        """Models of the flow with their meshes: the best estimate, then what is asked beside it."""
        extremes = {preset.kind: preset for preset in (LAMINAR, TURBULENT)}
        asked = self.study.flow.closure
        beside = {kind: preset for kind, preset in extremes.items() if asked in (kind, "both")}
        return {ESTIMATE.kind: ESTIMATE, **beside}

    @property
    def verifications(self) -> str:
        """Folder of the verifications that all studies share: beside the folders of studies.

        Results that were asked for elsewhere have one among them.
        """
        folder = Path(self.folder)
        beside = folder.parent if folder.parent.name == RESULTS else folder
        return (beside / VERIFICATIONS).as_posix()

    def result(self, path: str) -> str:
        """Path of a result, from its place in the study's folder."""
        return path if self.folder == "." else f"{self.folder}/{path}"

    def of_all_cases(self, *names: str) -> list[str]:
        """Paths of results in every case's folder."""
        return [self.result(f"cases/{case}/{name}") for name in names for case in self.cases]

    def flow_of_all_cases(self, ending: str = "") -> list[str]:
        """Every case's folder of fields of each model, or its file with an ending."""
        return self.of_all_cases(*(f"flow-{model}{ending}" for model in self.models))

    def pictured_meshes(self) -> list[str]:
        """The mesh of each case that the report shows."""
        return self.of_all_cases(f"mesh/{ESTIMATE.names[ESTIMATE.finest]}.msh")

    def mesh_files(self, names: Iterable[str]) -> list[str]:
        """Paths of a case's meshes, with the case as a wildcard."""
        return [self.result(f"cases/{{case}}/mesh/{name}.msh") for name in names]

    def flow_meshes(self) -> list[str]:
        """Paths of a case's meshes for a model, both as wildcards; all models have as many.

        Those on which only some flow rates are solved are not among them.
        """
        return self.mesh_files(f"{{model}}-{level}" for level in range(ESTIMATE.levels))

    def transition_of_model(self, wildcards: Any) -> dict[str, Any]:
        """Where a model turns turbulent, which of the best estimate alone is asked."""
        settings = self.study.flow.transition.settings()
        return settings if wildcards.model == ESTIMATE.kind else {}

    def parquet_tables(self) -> dict[str, str]:
        """Tables in Parquet, as outputs by their names; none of a study that is not large."""
        names = TABLES_OF_CASES if is_large(len(self.cases), self.study.resonance.points) else ()
        return {f"{name}_parquet": self.result(f"{name}.parquet") for name in names}

    def log_file(self, *names: str) -> str:
        """Path of a rule's log, one for each of its wildcards."""
        return self.result(f"logs/{'/'.join(names)}.log")

    def benchmark_file(self, *names: str) -> str:
        """Path of a rule's time and memory."""
        return self.result(f"benchmarks/{'/'.join(names)}.tsv")

    def air_file(self, air: str) -> str:
        """Path of the constants of an air."""
        return self.result(f"air/{air}.json")

    def documented(self) -> list[str]:
        """Every file that results/README.md says a study leaves."""
        meshes = [*ACOUSTICS.names, *HALVES]
        for preset in self.models.values():
            meshes += preset.names[: preset.levels]
        return [
            *map(self.result, OF_STUDY),
            *self.parquet_tables().values(),
            *self.of_wish(),
            *self.of_claims(),
            *self.of_all_cases(*OF_CASE, *(f"mesh/{mesh}.msh" for mesh in meshes)),
            *self.of_all_cases(*self.of_measured()),
            *self.flow_of_all_cases(),
            *self.flow_of_all_cases(".json"),
        ]

    def of_measured(self) -> tuple[str, ...]:
        """What each case has besides where its bore is measured."""
        return OF_MEASURED if isinstance(self.study.bore, MeasuredBore) else ()

    def of_wish(self) -> list[str]:
        """Files of the study's wish, none where it has no wish."""
        return [] if self.study.asked() is None else [self.result(name) for name in OF_WISH]

    def of_claims(self) -> list[str]:
        """Files of the study's claims, none where it has none."""
        return [] if self.study.claims is None else [self.result(name) for name in OF_CLAIMS]

    def wish_settings(self) -> dict[str, Any]:
        """Everything of the study that its wish depends on, as a study of its first case."""
        first, whole = next(iter(self.cases.values())), self.study.resolved()
        sections = ("resonance", "flow", "mesh", "wish")
        return first.description() | {name: whole[name] for name in sections}

    def benchmarks(self) -> list[str]:
        """Time and memory of all jobs that are done before the tables are made."""
        flows = [f"flow-{model}" for model in self.models]
        of_cases = ("mesh", "two_port", "resonance", *flows, "stream")
        return [
            *map(self.benchmark_file, ("verify_acoustics", "verify_flow", "tolerances")),
            *([self.benchmark_file("wish")] if self.of_wish() else []),
            *([self.benchmark_file("claims")] if self.of_claims() else []),
            *(self.benchmark_file("air", air) for air in self.airs),
            *(self.benchmark_file(rule, case) for rule in of_cases for case in self.cases),
        ]

    def air_of_case(self, wildcards: Any) -> str:
        """Constants of a case's air."""
        return self.air_file(air_name(self.cases[wildcards.case]))

    def conditions_of_air(self, wildcards: Any) -> dict[str, float]:
        """Temperature [K], relative humidity and pressure [Pa] of an air."""
        return dict(zip(CONDITIONS, self.airs[wildcards.air].air.values(), strict=True))

    def first_conditions(self) -> dict[str, float]:
        """The same of the first case's air."""
        return dict(zip(CONDITIONS, next(iter(self.airs.values())).air.values(), strict=True))

    def stations_of_case(self, wildcards: Any) -> list[str]:
        """Measured stations of a case, where it has them."""
        return [str(path) for path in self.cases[wildcards.case].input_files()]

    def bore_of_case(self, wildcards: Any) -> dict[str, Any]:
        """Everything that a case's bore is made from."""
        return dict(self.cases[wildcards.case].description()["bore"])

    def stations_folder(self, wildcards: Any) -> str:
        """Folder in which a case's stations are looked for."""
        return self.cases[wildcards.case].directory.as_posix()

    def input_files(self) -> set[Path]:
        """All files of the study's author that its results are made from, but the study file."""
        files = {path for case in self.cases.values() for path in case.input_files()}
        others = (self.study.claims_file(), self.study.air_column_file())
        return files | {path for path in others if path is not None}

    def air_column_file(self) -> str | list[str]:
        """Stations of the air column after the shank end; no file where there is none."""
        path = self.study.air_column_file()
        return [] if path is None else str(path)
