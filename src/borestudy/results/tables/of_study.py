"""All tables of a study that have rows for each case, grown by a few cases at a time."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from borestudy.air import Air
from borestudy.results.case import CaseResults
from borestudy.results.hand_formulas import hand_formula_rows
from borestudy.results.onset_changes import onset_change_rows
from borestudy.results.sensitivities import sensitivities_frame, sensitivity_rows
from borestudy.results.tables import comparison, flow, playing
from borestudy.results.tables.files import Row, frame_of
from borestudy.results.tables.growing import GrowingTable
from borestudy.results.tables.sizes import SPREADSHEET_ROWS
from borestudy.results.tone_changes import tone_change_rows

#: Columns of the comparison of one peak.
OF_PEAK = re.compile(r"peak_(\d+)_")


@dataclass(frozen=True)
class Bounds:
    """How much of a study's results is in memory at once, beside what is known of all its cases.

    Attributes
    ----------
    cases : int
        Cases that are there whole.
    cells : int
        Cells of each table that wait for others.
    bytes : int
        Of each table's rows that are not yet on the disk.
    """

    cases: int = 20
    cells: int = 100_000
    bytes: int = 4_000_000


BOUNDS = Bounds()


class StudyTables:
    """The tables of a study's cases.

    Parameters
    ----------
    first : CaseResults
        The case that all are compared with.
    rates : sequence of float
        The study's flow rates [L/s].
    rate : int
        Index of the flow rate that the comparison is at.
    air_column : bool
        Whether there is an air column behind the shank.
    lips : bool
        Whether the study has lips.
    folder : path, optional
        Where rows wait that are not held in memory, as of `GrowingTable`.
    bounds : Bounds
        How much is held in memory.
    """

    def __init__(
        self,
        first: CaseResults,
        rates: Sequence[float],
        rate: int,
        air_column: bool,
        lips: bool = False,
        folder: Path | str | None = None,
        bounds: Bounds = BOUNDS,
    ) -> None:
        self.first, self.rates, self.rate = first, list(rates), rate
        self._last_peak = comparison.compared_peaks(air_column)
        self._most_peaks = 0
        self._make: dict[str, Callable[[CaseResults], Iterable[Row]]] = {
            "cases": lambda case: [comparison.case_row(case)],
            "comparison": self._compared,
            "peaks": lambda case: comparison.peak_rows(case, first),
            "flow": lambda case: [
                flow.flow_row(case, first, *each) for each in enumerate(self.rates)
            ],
            "stream": comparison.stream_rows,
            "energy": flow.energy_rows,
            "separations": flow.separation_rows,
            "sensitivities": lambda case: sensitivity_rows(case, first),
        }
        if lips:
            self._make |= {
                "onset": playing.onset_rows,
                "onset_changes": lambda case: onset_change_rows(case, first),
                "tone": playing.tone_rows,
                "tone_changes": lambda case: tone_change_rows(case, first),
                "tone_harmonics": playing.harmonic_rows,
            }
        self._bounds = bounds
        names = (*self._make, "impedance", "hand_formulas")
        self._tables = {name: GrowingTable(bounds.bytes, folder) for name in names}
        self._waiting: dict[str, list[Row]] = {name: [] for name in names}

    def append(
        self, cases: Sequence[CaseResults], airs: Sequence[Air], impedance: pd.DataFrame
    ) -> None:
        """Put the rows of some cases below those of the cases before.

        Parameters
        ----------
        cases : sequence of CaseResults
            In the study's order.
        airs : sequence of Air
            Of each of them.
        impedance : DataFrame
            Their curves below one another.
        """
        self._most_peaks = max([self._most_peaks, *(len(case.resonances) for case in cases)])
        for name, make in self._make.items():
            self._put(name, [row for case in cases for row in make(case)])
        pairs = zip(cases, airs, strict=True)
        self._put("hand_formulas", [row for pair in pairs for row in hand_formula_rows(*pair)])
        self._tables["impedance"].append(impedance)

    def compare_at(self, rate: int, cases: Iterable[CaseResults]) -> None:
        """Make the comparison anew, at another flow rate of the study."""
        self.rate = rate
        self._tables["comparison"], self._waiting["comparison"] = GrowingTable(), []
        for case in cases:
            # The first is compared with itself, and not with what was read of it again.
            again = case.name == self.first.name
            self._put("comparison", self._compared(self.first if again else case))

    def _compared(self, case: CaseResults) -> list[Row]:
        at = self.rates[self.rate]
        return [comparison.comparison_row(case, self.first, self.rate, at, self._last_peak)]

    def _put(self, name: str, rows: Sequence[Row]) -> None:
        waiting = self._waiting[name]
        waiting += rows
        # Many at once: pandas takes a millisecond for a column, of however few rows.
        if waiting and len(waiting) * len(waiting[0]) > self._bounds.cells:
            self._make_table(name)

    def _make_table(self, name: str) -> None:
        if waiting := self._waiting[name]:
            make = sensitivities_frame if name == "sensitivities" else frame_of
            self._tables[name].append(make(waiting))
            waiting.clear()

    def growing(self, name: str) -> GrowingTable:
        """A table with all rows that were put into it."""
        self._make_table(name)
        return self._tables[name]

    def columns(self, name: str) -> dict[str, str]:
        """The columns of a table with their types: none of a part or a peak that no case has."""
        return self.growing(name).columns(
            flow.is_of_no_part if name == "energy" else self._is_of_no_peak
        )

    def _is_of_no_peak(self, column: str, _: bool) -> bool:
        found = OF_PEAK.match(column)
        return found is not None and int(found[1]) > self._most_peaks

    def write(
        self, csv: Mapping[str, Path | str], parquet: Mapping[str, Path | str], shown: Iterable[str]
    ) -> tuple[dict[str, int], dict[str, int]]:
        """Write every table, and tell how many rows each file has.

        Parameters
        ----------
        csv, parquet : mapping of str to path
            Files by the tables' names.
        shown : iterable of str
            Cases whose rows a CSV file has where all rows are more than a spreadsheet takes and
            are in Parquet.

        Returns
        -------
        rows, parquet_rows : dict
            Numbers of rows by the tables' names.
        """
        rows, all_rows = {}, {}
        for name in self._tables:
            table = self.growing(name)
            columns = self.columns(name)
            part = set(shown) if name in parquet and table.rows > SPREADSHEET_ROWS else None
            rows[name] = table.write_csv(csv[name], part, columns)
            if name in parquet:
                all_rows[name] = table.write_parquet(parquet[name], columns)
        return rows, all_rows
