"""What rounding a throat's entry is worth, for one throat, some radii and one flow rate."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from borestudy.bore import Bore
from borestudy.report.sentences.first import ENTRY_QUESTION
from borestudy.results.case import CaseResults
from borestudy.stages.cases import solve_study_cases
from borestudy.stages.check import refuse_impossible
from borestudy.study import Study, StudyError, study_from_mapping
from borestudy.study.naming import label_part
from borestudy.units import quoted, split_list

SQUARE, AS_MEASURED = "square", "as measured"
#: A bore of the trumpet class with invented dimensions, for what is not given.
USUAL = {
    "length": "88 mm",
    "cup.diameter": "16.2 mm",
    "cup.depth": "10.8 mm",
    "cup.shape": "0.6",
    "throat.length": "5 mm",
    "backbore.end_diameter": "9 mm",
}
THROAT = "throat.diameter"
#: Options by the keys of the study that they are.
OPTIONS = {
    "length": "--length",
    "cup.diameter": "--rim",
    "cup.depth": "--cup-depth",
    "cup.shape": "--cup-shape",
    THROAT: "--throat",
    "throat.length": "--throat-length",
    "backbore.end_diameter": "--end",
}


def refuse_neither(sizes: Mapping[str, str], stations: Path | None) -> None:
    """Refuse a bore that is given twice, or not at all.

    Raises
    ------
    StudyError
        Naming the option, what was found, what is allowed, and an example.
    """
    if stations is not None and sizes:
        given = ", ".join(OPTIONS[key] for key in sizes)
        raise StudyError(
            f"{given}: found beside --stations {stations}, which has the whole bore; allowed is "
            'either, for example --stations bore.csv --radii "0.5, 1 mm"'
        )
    if stations is not None and not stations.is_file():
        raise StudyError(
            f"--stations: found {str(stations)!r}, and no such file; allowed is a CSV file of "
            "positions and diameters, for example --stations bore.csv"
        )
    if stations is None and THROAT not in sizes:
        raise StudyError(
            "--throat: missing; needed is a drill or a diameter, or a bore's --stations, for "
            'example --throat "drill 27"'
        )


def entry_study(
    radii: str,
    rate: str,
    sizes: Mapping[str, str],
    stations: Path | None = None,
    resolution: str = "medium",
    new: bool = False,
) -> Study:
    """The study that asks what rounding an entry does.

    Parameters
    ----------
    radii : str
        Radii of the rounded entries, such as ``0.5, 1, 2 mm``; the square entry comes first.
    rate : str
        The one flow rate, such as ``0.2 L/s``.
    sizes : mapping of str to str
        Dimensions by the study's keys (`OPTIONS`); those that are not given are `USUAL`.
    stations : path, optional
        A file of measured stations, in place of dimensions; its entry as measured comes first.
    resolution : str
        The study's word for its meshes.
    new : bool
        Whether the measured bore is made anew, so that metal may be added.

    Raises
    ------
    StudyError
        Naming the option, what was found, what is allowed, and an example.
    """
    refuse_neither(sizes, stations)
    if "," in rate:
        raise StudyError(
            f"--rate: found {quoted(rate)}; allowed is one flow rate, for example 0.2 L/s"
        )
    values = split_list(radii)
    rounded = [f"rounded {one}" for one in values]
    first = SQUARE if stations is None else AS_MEASURED
    measured = None if stations is None else {"stations": stations.name}
    if measured is not None and new:
        measured["piece"] = "new"
    contents = {
        "question": ENTRY_QUESTION,
        "bore": measured or _dimensioned(sizes),
        "vary": {"throat.entry": [first, *rounded]},
        "flow": {"rates": [rate]},
        "mesh": {"resolution": resolution},
    }
    folder = Path() if stations is None else stations.parent
    try:
        study = study_from_mapping(contents, folder, "entry")
        refuse_impossible(study)
    except StudyError as problem:
        raise StudyError(_in_options(str(problem))) from None
    return study


def _dimensioned(sizes: Mapping[str, str]) -> dict[str, Any]:
    """The section of a study from dimensions by their dotted keys."""
    bore: dict[str, Any] = {"cup": {}, "throat": {"entry": SQUARE}, "backbore": {}}
    for key, value in (USUAL | dict(sizes)).items():
        section, _, name = key.rpartition(".")
        place = bore[section] if section else bore
        place[name] = float(value) if key == "cup.shape" and _is_number(value) else value
    return bore


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[\d.]+", text.strip()) is not None


#: Begin of a study's refusal, and which option it is of.
REFUSED = {
    r"bore\.stations": "--stations",
    r"flow\.rates(\[0\])?": "--rate",
    r"(vary\.|bore\.)?throat\.entry(\[\d+\])?": "--radii",
    **{rf"bore\.{re.escape(key)}": option for key, option in OPTIONS.items()},
}


def _in_options(words: str) -> str:
    """A study's refusal in the words of the command's options, a line for each mistake."""
    return "\n".join(dict.fromkeys(map(_line_in_options, words.splitlines())))


def _line_in_options(line: str) -> str:
    told = re.sub(r"^case [^:]+: ", "", line)
    for begin, option in REFUSED.items():
        if found := re.match(rf"{begin}(?=:)", told):
            told = f"{option}{told[found.end() :]}"
            break
    if told.startswith("--radii"):  # an entry's words there are a radius here
        told = re.sub(r"in 'rounded [^']*': |\brounded (?=[\d.'])", "", told)
        told = told.replace("'piece: new' in the study's bore", "--new for a new piece")
    if told.startswith("--rate"):
        told = re.sub(r"(for example ).*, (?=\S+ L/s$)", r"\1", told)
    return told


def bore_words(sizes: Mapping[str, str], stations: Path | None = None) -> str:
    """Which bore was asked about, and which of its dimensions nobody gave."""
    if stations is not None:
        return f"The bore is that of {stations}."

    def told(of: Mapping[str, str]) -> str:
        return ", ".join(label_part(key, value) for key, value in of.items())

    left = {key: value for key, value in USUAL.items() if key not in sizes}
    if not left:
        return f"The bore: {told(sizes)}."
    return f"The bore: {told(sizes)}; not given, and taken from an invented one: {told(left)}."


def solved_entries(
    study: Study, processes: int | None = None
) -> tuple[list[CaseResults], list[Bore]]:
    """Solve each entry; its results, and its bore.

    Parameters
    ----------
    study : Study
        As `entry_study` makes it.
    processes : int, optional
        See `solve_study_cases`.
    """
    return solve_study_cases(study, processes), [case.build_bore() for case in study.cases()]
