"""What the workflow knows of a study before it reads it whole: its file, its folder, its airs."""

import math
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from borestudy.study import Case, StudyError, read_yaml, study_from_mapping
from borestudy.study.naming import name_part
from borestudy.study.texts import fault_of_path
from borestudy.units import quoted

#: Name of the air that all cases share.
COMMON_AIR = "all-cases"
#: File in a folder of results that says which study file they are of.
STUDY_FILE = "study-file.txt"
#: Folder of the results of studies, each in one of its name, and the folder in which study files
#: are kept where that is beside the former.
RESULTS, STUDIES = "results", "configs"
#: Folders among those of studies that belong to none.
VERIFICATIONS, VALIDATION = "verification", "validation"
#: Setting by which Snakemake is told another folder for the results of its study.
RESULTS_KEY = "results_folder"
#: Setting by which Snakemake is told how many minutes a job of cases is to take.
MINUTES_KEY = "minutes_per_job"
#: Names of study files after which a folder is named: none leads out of `results`.
FOLDER_NAME, LONGEST_NAME = re.compile(r"\w(?:[\w .,+()@=-]*[\w+)@=-])?"), 150
#: Names that are devices where a folder is shared with Windows.
RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{one}{n}" for one in ("COM", "LPT") for n in range(10))}
#: Snakemake's options that a study file follows.
OPTIONS = ("--configfile", "--configfiles")


def air_name(case: Case) -> str:
    """Name of the case's air, the same for cases whose air is the same."""
    parts = [name_part(key, value) for key, value in case.values.items() if key.startswith("air.")]
    return "__".join(parts) or COMMON_AIR


def base_folder(study_file: Path) -> Path:
    """The folder beside a study file that `results` is in: above one that is called `configs`."""
    folder = study_file.parent
    return folder.parent if folder.resolve().name == STUDIES else folder


def results_folder(study_file: Path, asked: str | None = None, base: Path = Path()) -> Path:
    """Folder of a study's results, from a base: named after the study file unless it is asked for.

    Raises
    ------
    StudyError
        If the folder holds the results of another study file that is still there, or is one of
        those that belong to no study, or a name cannot be a folder's or an input of Snakemake.
    """
    _refuse_unusable(study_file, names_folder=asked is None)
    # Some file systems take capital letters for small ones.
    if asked is None and study_file.stem.casefold() in (VERIFICATIONS, VALIDATION):
        raise StudyError(
            f"{study_file}: found a study file called {study_file.stem}, and "
            f"{base / RESULTS / study_file.stem} belongs to all studies; allowed is another file "
            f"name, for example my-{study_file.stem}.yaml"
        )
    folder = Path(RESULTS) / study_file.stem if asked is None else Path(asked)
    record = base / folder / STUDY_FILE
    owner = study_file
    if record.is_file():
        owner = base / record.read_text(encoding="utf-8").strip()
    if owner.is_file() and not owner.samefile(study_file):
        raise StudyError(
            f"{base / folder} holds the results of {owner}; found {study_file}, whose results "
            f"would overwrite them; allowed is another file name, for example "
            f"{study_file.stem}-2.yaml"
        )
    return folder


def minutes_asked(asked: Any) -> float | None:
    """Minutes that a job of cases is to take; None where nothing is asked for.

    Raises
    ------
    StudyError
        If it is no number from 0.1 to 1440.
    """
    if asked is None:
        return None
    number = asked if isinstance(asked, int | float) and not isinstance(asked, bool) else math.nan
    if not 0.1 <= number <= 1440:
        raise StudyError(
            f"{MINUTES_KEY}: found {quoted(asked)}; allowed is a number of minutes from 0.1 to "
            f"1440, for example --config {MINUTES_KEY}=5"
        )
    return float(number)


def _refuse_unusable(study_file: Path, names_folder: bool) -> None:
    """Refuse a file that Snakemake cannot name, or after which no folder can be named."""
    stem, fault = study_file.stem, fault_of_path(study_file.as_posix())
    if (
        names_folder
        and not fault
        and (
            not FOLDER_NAME.fullmatch(stem)
            or len(stem.encode()) > LONGEST_NAME
            or stem.upper() in RESERVED
        )
    ):
        fault = "after which no folder of results can be named"
    if fault:
        raise StudyError(
            f"study file: found {quoted(study_file.as_posix())}, {fault}; allowed are letters, "
            f"digits, spaces and . , _ + ( ) @ = - in its name, up to {LONGEST_NAME} bytes, a "
            "letter, digit or _ first, and no name that Windows keeps for devices, for example "
            "entry-rounding.yaml"
        )


def refuse_unreadable_study(arguments: Sequence[str] | None = None) -> None:
    """End the process with one line where Snakemake's study file is missing or no YAML mapping."""
    for name in study_files(sys.argv[1:] if arguments is None else arguments):
        if not Path(name).is_file():
            sys.exit(
                f"--configfile: found {name!r}, and no such file in {Path.cwd()}; allowed is a "
                "study file, for example configs/entry-rounding.yaml"
            )
        try:
            contents = read_yaml(Path(name))
            if not isinstance(contents, dict):
                study_from_mapping(contents)  # which says what is allowed instead
        except StudyError as problem:
            message = str(problem)
            sys.exit(message if message.startswith(name) else f"{name}: {message}")


def study_files(arguments: Sequence[str]) -> list[str]:
    """What follows ``--configfile``, up to the next option."""
    files, wanted = [], False
    for argument in arguments:
        option, separator, value = argument.partition("=")
        if argument.startswith("-"):
            wanted = option in OPTIONS
            files += [value] if wanted and separator else []
        elif wanted:
            files.append(argument)
    return files
