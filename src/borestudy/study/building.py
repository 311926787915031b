"""From a case's texts to its bore in metres, and geometry's refusals in the study's words."""

from borestudy.bore import Bore, BoreError, Entry, bore_from_dimensions, bore_from_stations
from borestudy.bore.outliers import doubtful_stations
from borestudy.study.cases import Case
from borestudy.study.entry import parse_entry
from borestudy.study.errors import StudyError, dotted
from borestudy.study.models import BoreDimensions, MeasuredBore, TaperStation
from borestudy.units import parse_length

#: Doubtful stations of one file that are told one by one.
TOLD = 5


def build_bore(case: Case) -> Bore:
    """The bore of a case as exact segments.

    Parameters
    ----------
    case : Case
        With dimensions as the study writes them.

    Returns
    -------
    Bore

    Raises
    ------
    StudyError
        If the dimensions or stations make no bore; the message names case, key, what was found,
        what is allowed and an example.
    """
    try:
        if isinstance(case.bore, MeasuredBore):
            (path,) = case.input_files()
            return bore_from_stations(path, case.bore.join, case.bore.outliers)
        return _from_dimensions(case.bore)
    except BoreError as problem:
        key = problem.key
        if isinstance(case.bore, MeasuredBore):
            # Whatever is wrong inside the file, the study's only key for it is the file's name.
            key = key if key in MeasuredBore.model_fields else "stations"
        where = dotted("bore", key) if key else "bore"
        raise StudyError(f"case {case.name}: {where}: {problem}") from None


def station_doubts(case: Case) -> list[str]:
    """A line for each measured station that its neighbours do not suggest, which is taken as it is.

    Parameters
    ----------
    case : Case
        Whose bore can be built.

    Returns
    -------
    list of str
        No more than `TOLD` stations, and how many more there are.
    """
    told = []
    for path in case.input_files():
        lines = doubtful_stations(path)
        told += lines[:TOLD]
        if len(lines) > TOLD:
            told.append(f"{path.name}: so are {len(lines) - TOLD} more stations")
    return told


def _from_dimensions(dimensions: BoreDimensions) -> Bore:
    cup, throat, backbore = dimensions.cup, dimensions.throat, dimensions.backbore
    words = parse_entry(throat.entry)
    return bore_from_dimensions(
        length=parse_length(dimensions.length),
        cup_diameter=parse_length(cup.diameter),
        cup_depth=parse_length(cup.depth),
        cup_shape=cup.shape,
        throat_diameter=parse_length(throat.diameter),
        throat_length=parse_length(throat.length),
        entry=Entry(words.shape, words.sizes, words.angle),
        backbore_end_diameter=parse_length(backbore.end_diameter),
        backbore_taper=(
            [_station(station) for station in backbore.taper]
            if isinstance(backbore.taper, list)
            else backbore.taper
        ),
    )


def _station(station: TaperStation) -> tuple[float, float]:
    """Distance from the end of the throat and diameter, both in metres."""
    return parse_length(station.position), parse_length(station.diameter)
