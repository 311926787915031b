"""How the cases of a study are divided into batches, each a job of the workflow."""

from collections.abc import Sequence

#: Expected time of a batch in minutes, where nothing else is asked for.
MINUTES = 3.0
#: Least number of batches of a study with so many cases, so that several processors have enough.
LEAST_BATCHES = 16


def divide(
    cases: Sequence[str], seconds: float, minutes: float | None = None
) -> dict[str, tuple[str, ...]]:
    """Divide cases into batches of nearly equal size, in order.

    The same on every node: it depends on the study and on what is asked for alone.

    Parameters
    ----------
    cases : sequence of str
        Names of the cases.
    seconds : float
        Expected seconds of a case.
    minutes : float, optional
        Expected time of a batch.  By default it is `MINUTES`, or less where there would be fewer
        than `LEAST_BATCHES` batches, down to one case a batch.

    Returns
    -------
    dict
        From a batch's number, from ``0001`` on, to its cases.
    """
    count = len(cases)
    size = max(1, int(60 * (MINUTES if minutes is None else minutes) / seconds))
    if minutes is None:
        size = min(size, max(1, count // LEAST_BATCHES))
    batches = max(1, -(-count // size))
    ends = [count * number // batches for number in range(batches + 1)]
    return {
        f"{number + 1:04d}": tuple(cases[ends[number] : ends[number + 1]])
        for number in range(batches)
    }
