"""Files of a study's results: what each rule of the workflow reads and writes."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from borestudy.mesh import ESTIMATE, LAMINAR, TURBULENT, Preset
from borestudy.provenance import value_hash
from borestudy.results.tables.sizes import TABLES_OF_CASES, TABLES_OF_LIPS, is_large
from borestudy.stages.batches.division import divide
from borestudy.stages.plan import RESULTS, VERIFICATIONS, air_name
from borestudy.stages.running.seconds import shipped_seconds
from borestudy.study import Case, Study
from borestudy.study.models import MeasuredBore

#: What an air is made from.
CONDITIONS = ("temperature", "relative_humidity", "pressure")
#: Meshes of the bore cut in its throat, for what the stream does to the resonance.
HALVES = ("acoustics-front", "acoustics-back")
#: What results/README.md says a study leaves, beside its cases.
OF_STUDY = (
    "report.html", "verdict.txt", "resolved.yaml", "study-file.txt", "figures", "cases.csv",
    "comparison.csv", "comparison.tex", "peaks.csv", "flow.csv", "impedance.csv", "energy.csv",
    "separations.csv",
    "stream.csv", "sensitivities.csv", "verification.csv", "tolerances.csv", "budget.csv",
    "hand_formulas.csv", "benchmarks.csv", "mesh_costs.csv", "costs.csv", "answers.json",
)  # fmt: skip
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
    #: Expected time of a batch of cases, where one is asked for.
    minutes_per_job: float | None = None

    @cached_property
    def cases(self) -> dict[str, Case]:
        """The study's cases by their names, the first of them the reference."""
        return {case.name: case for case in self.study.cases()}

    @cached_property
    def batches(self) -> dict[str, tuple[str, ...]]:
        """Names of the cases of each batch by its number."""
        return divide([*self.cases], self.seconds_of_case, self.minutes_per_job)

    @property
    def seconds_of_case(self) -> float:
        """Expected seconds of a case, by the shipped costs."""
        size = self.study.mesh.resolution, len(self.study.flow.rates)
        return sum(shipped_seconds(step, *size) for step in self.steps)

    @property
    def steps(self) -> list[str]:
        """Names of the steps of each case, in the order in which they are done."""
        flows = [f"flow-{model}" for model in self.models]
        playing = [] if self.study.lips is None else ["loads", "onset", "tone"]
        return ["mesh", "two_port", "resonance", *flows, "stream", *playing]

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
    def verified(self) -> tuple[str, ...]:
        """What is checked against theory: the acoustics, the flow, and with lips the tone."""
        always = ("acoustics", "flow")
        return always if self.study.lips is None else (*always, "playing")

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

    def batch_file(self, batch: str) -> str:
        """Path of what says how the cases of a batch ended."""
        return self.result(f"batches/{batch}.json")

    def all_batches(self) -> list[str]:
        """Paths of what says how the cases of each batch ended."""
        return [self.batch_file(batch) for batch in self.batches]

    def first_batch(self) -> str:
        """Path of what says how the first case ended."""
        return self.batch_file(next(iter(self.batches)))

    def cases_of_batch(self, wildcards: Any) -> list[Case]:
        """The cases of a batch."""
        return [self.cases[name] for name in self.batches[wildcards.batch]]

    def names_of_batch(self, wildcards: Any) -> list[str]:
        """Names of the cases of a batch."""
        return [*self.batches[wildcards.batch]]

    def airs_of_batch(self, wildcards: Any) -> list[str]:
        """Paths of the constants of a batch's airs."""
        return [*dict.fromkeys(map(self.air_of, self.cases_of_batch(wildcards)))]

    def stations_of_batch(self, wildcards: Any) -> list[str]:
        """Measured stations of a batch's cases, where they have them."""
        files = [file for case in self.cases_of_batch(wildcards) for file in case.input_files()]
        return [*dict.fromkeys(map(str, files))]

    def asked_of_batch(self, wildcards: Any) -> str:
        """Hash of what the study asks of a batch's cases, beside their airs and files."""
        bores = {case.name: case.description()["bore"] for case in self.cases_of_batch(wildcards)}
        return value_hash([bores, self._asked_of_all])

    @cached_property
    def _asked_of_all(self) -> list[Any]:
        whole = self.study.resolved()
        return [whole[section] for section in ("resonance", "flow", "mesh", "lips", "keep")]

    def parquet_tables(self) -> dict[str, str]:
        """Tables in Parquet, as outputs by their names; none of a study that is not large."""
        if not is_large(len(self.cases), self.study.resonance.points):
            return {}
        names = (*TABLES_OF_CASES, *self.tables_of_lips())
        return {f"{name}_parquet": self.result(f"{name}.parquet") for name in names}

    def tables_of_lips(self) -> dict[str, str]:
        """Tables that a study with lips has besides, as outputs by their names."""
        names = () if self.study.lips is None else TABLES_OF_LIPS
        return {name: self.result(f"{name}.csv") for name in names}

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
        """Every file that results/README.md says a study leaves; its cases' go with the batches."""
        return [
            *map(self.result, OF_STUDY),
            *self.of_verifications("json"),
            *self.parquet_tables().values(),
            *self.tables_of_lips().values(),
            *self.of_wish(),
            *self.of_claims(),
            *self.all_batches(),
        ]

    def of_measured(self) -> tuple[str, ...]:
        """What each case has besides where its bore is measured."""
        return OF_MEASURED if isinstance(self.study.bore, MeasuredBore) else ()

    def of_verifications(self, ending: str) -> list[str]:
        """Files of what is checked against theory, such as the tables of checks, ``csv``."""
        return [self.result(f"verification/{physics}.{ending}") for physics in self.verified]

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
        """Time and memory of all jobs before the tables are made."""
        return [
            *(self.benchmark_file(f"verify_{physics}") for physics in self.verified),
            self.benchmark_file("tolerances"),
            *([self.benchmark_file("wish")] if self.of_wish() else []),
            *([self.benchmark_file("claims")] if self.of_claims() else []),
            *(self.benchmark_file("air", air) for air in self.airs),
            *(self.benchmark_file("solve", batch) for batch in self.batches),
        ]

    def air_of(self, case: Case) -> str:
        """Path of the constants of a case's air."""
        return self.air_file(air_name(case))

    def conditions_of_air(self, wildcards: Any) -> dict[str, float]:
        """Temperature [K], relative humidity and pressure [Pa] of an air."""
        return dict(zip(CONDITIONS, self.airs[wildcards.air].air.values(), strict=True))

    def first_conditions(self) -> dict[str, float]:
        """The same of the first case's air."""
        return dict(zip(CONDITIONS, next(iter(self.airs.values())).air.values(), strict=True))

    def input_files(self) -> set[Path]:
        """All files of the study's author that its results are made from, but the study file."""
        files = {path for case in self.cases.values() for path in case.input_files()}
        others = (self.study.claims_file(), self.study.air_column_file())
        return files | {path for path in others if path is not None}

    def air_column_file(self) -> str | list[str]:
        """Stations of the air column after the shank end; no file where there is none."""
        path = self.study.air_column_file()
        return [] if path is None else str(path)
