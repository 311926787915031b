"""What an error of one machining tolerance on each dimension does to the first case."""

from collections.abc import Sequence

from borestudy.results.case import CaseResults, split_column, varied_columns
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.results.merged_flow import merged_flow
from borestudy.results.perturbed import PerturbedBore, PerturbedBores
from borestudy.results.tables.files import Row
from borestudy.results.tables.flow import change_columns


def tolerance_rows(
    solved: PerturbedBores, tolerance: float, cases: Sequence[CaseResults] = (), rate: int = 0
) -> list[Row]:
    """Changes of resonance and flow resistance for one machining tolerance of each dimension.

    The changes of bores in which one dimension alone is larger are scaled to the tolerance [mm].
    Where the study's cases vary one length, the slope between the first and its nearest neighbour
    is a row as well; its flow resistance is at the rate of that index.
    """
    base = _case("as drawn", solved.base)
    rows = [
        _row(name, tolerance, _case(name, bore), base, 0, tolerance / bore.step_mm)
        for name, bore in solved.dimensions.items()
    ]
    neighbour = _neighbour(cases)
    if neighbour is not None:
        case, column, distance = neighbour
        name = f"{split_column(column)[0]} (slope from the study's own cases)"
        rows.append(_row(name, tolerance, case, cases[0], rate, tolerance / distance))
    return rows


def _case(name: str, bore: PerturbedBore | None) -> CaseResults:
    """A bore as a case with one flow rate."""
    if bore is None:
        return CaseResults(name)
    return CaseResults(name, acoustics=bore.acoustics, flow=merged_flow(bore.flow, None))


def _neighbour(cases: Sequence[CaseResults]) -> tuple[CaseResults, str, float] | None:
    """The case nearest the first in the one length that is varied, and by how much [mm]."""
    columns = varied_columns(cases)
    if len(cases) < 2 or len(columns) != 1 or not columns[0].endswith("_mm"):
        return None
    column = columns[0]

    def distance(case: CaseResults) -> float:
        return float(case.varied[column] or 0.0) - float(cases[0].varied[column] or 0.0)

    nearest = min(cases[1:], key=lambda case: abs(distance(case)))
    return nearest, column, distance(nearest)


def _row(
    dimension: str, tolerance: float, case: CaseResults, base: CaseResults, rate: int, share: float
) -> Row:
    sound, flow = resonance_change(case, base), flow_change(case, base, rate)
    return {
        "dimension": dimension,
        "tolerance_mm": tolerance,
        **change_columns("resonance", "cents", _scaled(sound, share)),
        **change_columns("flow_resistance", "percent", _scaled(flow, share)),
    }


def _scaled(change: Change, share: float) -> Change:
    """A change in proportion: good for shares of a small change."""
    if change.value is None or change.uncertainty is None:
        return change
    return Change(share * change.value, abs(share) * change.uncertainty)
