"""One case as the figures need it: its outline, its results, and where the fields are."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.drawing.bore import Outline
from borestudy.flow.result import FlowAtRate
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.report.labels import NOT_CONVERGED, NOT_MESHED
from borestudy.report.large.summary import ManyBores
from borestudy.report.tables.flow import is_true
from borestudy.results.case import CaseResults
from borestudy.results.estimate import ESTIMATE

#: Folder of the flow's fields.
FIELDS = f"flow-{ESTIMATE}"
#: More bores than these have no chart on the page: evenly spaced ones stand for all.
CHART_LIMIT = 100


@dataclass(frozen=True, kw_only=True)
class CaseView:
    """What the figures need of one case: `label` is the short text on figures.

    Field files of the flow are known by their rate's index in the study, the acoustic one is the
    `field` of a resonance, and the mesh is the finest.
    """

    label: str
    outline: Outline
    results: CaseResults
    flow_fields: Mapping[int, Path]
    acoustic_field: Path | None = None
    mesh_path: Path | None = None

    @property
    def name(self) -> str:
        """The case's name in the tables."""
        return self.results.name

    def words(self, known: bool, why: str = "no result") -> str:
        """The label, which says why where a figure has nothing of the case."""
        return self.label if known else f"{self.label} ({why})"

    @property
    def unsolved(self) -> str:
        """Say in few words why a flow rate of the case has no solution."""
        return NOT_MESHED if ESTIMATE in self.results.flow.not_meshed else NOT_CONVERGED

    def flow_at(self, rate: int) -> FlowAtRate | None:
        """The flow at the rate of an index; None where it did not converge."""
        row = self.results.rate(rate)
        return None if row is None else row.figures


def read_case(
    directory: Path,
    results: CaseResults,
    outline: Outline,
    label: str = "",
    has_fields: bool = True,
) -> CaseView:
    """Find a case's fields and its finest mesh, and put its results beside them.

    Of the two resonances that may have a field, the acoustic one is the later's, which is the
    highest peak.  Of a study that keeps no fields none is looked for.
    """
    fields = {
        index: directory / FIELDS / row.figures.field
        for index, row in enumerate(results.rates)
        if has_fields and row.figures and row.figures.field
    }
    pictured = [peak.field for peak in results.resonances if peak.field and has_fields]
    written = [
        path
        for path in sorted(directory.glob(f"mesh/{ESTIMATE}-*.msh"))[-1:]
        if why_unmeshed(path) is None
    ]
    return CaseView(
        label=label or results.name,
        outline=outline,
        results=results,
        flow_fields=fields,
        acoustic_field=directory / "acoustics" / pictured[-1] if pictured else None,
        mesh_path=written[0] if written else None,
    )


def reference_rate(comparison: pd.DataFrame, flow: pd.DataFrame) -> float:
    """The flow rate [L/s] the comparison table is about, else the greatest one solved."""
    if "flow_rate_L_per_s" in comparison and comparison["flow_rate_L_per_s"].notna().any():
        return float(comparison["flow_rate_L_per_s"].dropna().iloc[0])
    return float(flow["flow_rate_L_per_s"].max())


@dataclass(frozen=True, kw_only=True)
class PicturedStudy:
    """What the figures of a study are drawn from: its cases and the tables of these names.

    `varied` are the columns of `comparison` that hold the varied dimensions.  The table of
    sensitivities has no row where none were computed.  Of a study of many cases, these are the few
    that are drawn one by one, and `many` holds what is drawn of all.
    """

    cases: Sequence[CaseView]
    comparison: pd.DataFrame
    flow: pd.DataFrame
    impedance: pd.DataFrame
    varied: Sequence[str]
    sensitivities: pd.DataFrame = field(default_factory=pd.DataFrame)
    many: ManyBores | None = None

    @property
    def charted(self) -> list[CaseView]:
        """The bores of the page's charts, in the order of the numbers that switch them off."""
        return style.sample(self.cases, CHART_LIMIT)

    @property
    def shown(self) -> list[CaseView]:
        """Choose as many cases as lines can be told apart."""
        return style.sample(self.cases)

    @property
    def labels(self) -> list[str]:
        """The words of each row of the comparison."""
        words = {case.name: case.label for case in self.cases}
        return [words.get(name, str(name)) for name in self.comparison["case"]]

    @property
    def rate(self) -> int:
        """Index of the flow rate that the comparison is about."""
        rates = list(self.flow["flow_rate_L_per_s"].unique())
        return rates.index(reference_rate(self.comparison, self.flow))

    @property
    def rate_in_words(self) -> str:
        """That flow rate with its unit."""
        return f"{reference_rate(self.comparison, self.flow):g} L/s"

    @property
    def solved(self) -> pd.DataFrame:
        """The flow table, with no number where there is no solution."""
        table = self.flow.copy()
        drops = [name for name in table.columns if name.startswith("pressure_drop")]
        table.loc[~table["converged"].map(is_true), drops] = np.nan
        return table

    @property
    def rates(self) -> list[float]:
        """Flow rates [L/s] at which any case has a number, lowest first."""
        if self.flow.empty:
            return []
        known = self.solved.dropna(subset=["pressure_drop_Pa"])
        return sorted(known["flow_rate_L_per_s"].unique())

    def at_rates(self, rates: Sequence[float]) -> dict[float, pd.DataFrame]:
        """The flow table's rows of each flow rate [L/s], a row a case in the comparison's order."""
        groups = self.solved.set_index("case").groupby("flow_rate_L_per_s")
        return {rate: groups.get_group(rate).reindex(self.comparison["case"]) for rate in rates}
