"""What an error of one machining tolerance on each dimension does to the first case."""

from collections.abc import Sequence

from borestudy.results.case import CaseResults, split_column, varied_columns
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.results.estimate import estimated_flow
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
    columns = varied_columns(cases)
    if len(cases) > 1 and len(columns) == 1 and columns[0].endswith("_mm"):
        first, *sizes = (float(case.varied[columns[0]] or 0.0) for case in cases)
        steps = [(case, size - first) for case, size in zip(cases[1:], sizes, strict=True)]
        case, step = min(steps, key=lambda pair: abs(pair[1]))
        name = f"{split_column(columns[0])[0]} (slope from the study's own cases)"
        rows.append(_row(name, tolerance, case, cases[0], rate, tolerance / step))
    return rows


def _case(name: str, bore: PerturbedBore | None) -> CaseResults:
    """A bore as a case with one flow rate."""
    if bore is None:
        return CaseResults(name)
    flow = estimated_flow(bore.flow, bore.passage)
    return CaseResults(name, acoustics=bore.acoustics, flow=flow)


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
    if change.value is None or change.numerical is None:
        return change
    numerical, model = (abs(share) * error for error in (change.numerical, change.model))
    return Change(share * change.value, numerical, model=model)
