"""The air column behind the shank, from its file."""

from pathlib import Path

from borestudy.bore.errors import BoreError
from borestudy.bore.table import read_stations
from borestudy.closed_form.air_column import AirColumn, End, air_column


def read_air_column(path: Path | str, end: End = "open unflanged") -> AirColumn:
    """An air column from a CSV of stations, read as a measured bore is.

    Parameters
    ----------
    path : path
        CSV with the columns ``position_mm`` and ``diameter_mm``, or both in inches (``_in``).
    end : "closed", "open unflanged" or "open flanged"
        What is at the far end.

    Returns
    -------
    AirColumn

    Raises
    ------
    ValueError
        Naming the line, what was found and what is allowed.
    """
    path = Path(path)
    try:
        stations, lines = read_stations(path)
    except BoreError as problem:
        raise ValueError(f"air column {problem}") from None
    return air_column(stations[:, 0], stations[:, 1] / 2, end, path.name, lines)
