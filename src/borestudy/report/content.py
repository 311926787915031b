"""All that the report of a study shows, before it is laid out on a page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace

import pandas as pd

from borestudy.drawing.style import FigureRecord
from borestudy.report.interactive.panels import StudyCharts
from borestudy.report.large.overview import Overview
from borestudy.report.listening import BoreSounds
from borestudy.report.tables.measured import ReadFile
from borestudy.report.topic import FLOW, Topic
from borestudy.results.wishes import WishResult


@dataclass(frozen=True, kw_only=True)
class ResultTables:
    """The tables of a study under the names of their files; one without a row is left out.

    `benchmarks` has one row a rule: jobs, wall time, peak memory; `comparison_errors`, of no study
    but of the program, one a comparison of the best estimate with a measurement; `lips` has, in
    words, one a property of the lips that a study states.
    """

    comparison: pd.DataFrame = field(default_factory=pd.DataFrame)
    flow: pd.DataFrame = field(default_factory=pd.DataFrame)
    verification: pd.DataFrame = field(default_factory=pd.DataFrame)
    stream: pd.DataFrame = field(default_factory=pd.DataFrame)
    energy: pd.DataFrame = field(default_factory=pd.DataFrame)
    separations: pd.DataFrame = field(default_factory=pd.DataFrame)
    onset: pd.DataFrame = field(default_factory=pd.DataFrame)
    onset_changes: pd.DataFrame = field(default_factory=pd.DataFrame)
    tone: pd.DataFrame = field(default_factory=pd.DataFrame)
    tone_changes: pd.DataFrame = field(default_factory=pd.DataFrame)
    lips: pd.DataFrame = field(default_factory=pd.DataFrame)
    sensitivities: pd.DataFrame = field(default_factory=pd.DataFrame)
    tolerances: pd.DataFrame = field(default_factory=pd.DataFrame)
    hand_formulas: pd.DataFrame = field(default_factory=pd.DataFrame)
    budget: pd.DataFrame = field(default_factory=pd.DataFrame)
    benchmarks: pd.DataFrame = field(default_factory=pd.DataFrame)
    comparison_errors: pd.DataFrame = field(default_factory=pd.DataFrame)

    def with_labels(self, words: Mapping[str, str]) -> "ResultTables":
        """The same with each case called by its words."""
        tables = {part.name: getattr(self, part.name) for part in fields(self)}
        named = {name: table for name, table in tables.items() if "case" in table}
        called = {name: one.assign(case=one["case"].replace(words)) for name, one in named.items()}
        return replace(self, **called)


@dataclass(frozen=True, kw_only=True)
class MadeFrom:
    """What the results were computed from, each nested as in its file.

    `settings` is the study with every default, `air` its properties by names with units, `sources`
    holds versions and hashes.
    """

    settings: Mapping[str, object] = field(default_factory=dict)
    air: Mapping[str, float] = field(default_factory=dict)
    sources: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class StudyReport:
    """All that the report of a study shows.

    `first` is the answer in at most three sentences, whose numbers are in the files `first_files`;
    without it the first three of `answers`, which say all there is. `validity` says what limits
    them, one sentence each. The topic decides which tables and which layer come first. Figures are
    in the order they are to appear, and their SVG files are read; `wish` is what became of the
    study's, if it has one, and `readings` are the files of measured bores. `labels` are the words
    for each case, by its name in the tables; the name itself by default. With `charts` a browser
    that runs scripts shows these in place of the figures of their names, and sorts the tables.
    `costs` says what a case takes; `playing` opens the part on starting a tone, and `sounds` are
    those of the bores that have some.
    With an `overview` of many bores, the tables and figures are of a few that stand out.
    """

    title: str
    question: str
    answers: Sequence[str]
    tables: ResultTables
    first: Sequence[str] = ()
    first_files: Sequence[str] = ("comparison.csv",)
    validity: Sequence[str] = ()
    topic: Topic = FLOW
    figures: Sequence[FigureRecord] = ()
    wish: WishResult | None = None
    readings: Sequence[ReadFile] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    provenance: MadeFrom = MadeFrom()
    charts: StudyCharts | None = None
    overview: Overview | None = None
    costs: Sequence[str] = ()
    playing: Sequence[str] = ()
    sounds: Sequence[BoreSounds] = ()

    @property
    def answer(self) -> Sequence[str]:
        """The answer of the first screen: at most three sentences."""
        return [*self.first, *([] if self.first else self.answers)][:SENTENCES]

    @property
    def further(self) -> Sequence[str]:
        """What there is to say beside the answer of the first screen."""
        return [sentence for sentence in self.answers if sentence not in self.answer]


#: As many sentences the first screen has at most.
SENTENCES = 3
