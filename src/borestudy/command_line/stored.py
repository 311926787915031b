"""Answers that a study's results hold already."""

from contextlib import suppress
from pathlib import Path
from typing import Any

from borestudy.records import Record, read_record
from borestudy.stages.plan import base_folder, results_folder
from borestudy.study import Study, StudyError, load_study

#: Keys of a resolved study that decide no number.
NO_NUMBERS = ("folder", "name", "question", "claims")


def stored_table(
    study_file: Path, study: Study, name: str, results: Path | None = None
) -> Path | None:
    """A table of a study's results, where it is there and of this study as it stands.

    It is so where the resolved study beside it says the same as the study file does now, and no
    file that the study names has changed since.  `results` is its folder, where it is elsewhere.
    """
    # Where Snakemake was started here, and where `borestudy run` leaves them.
    places = {base.resolve(): base for base in (base_folder(study_file), Path())}
    folders = [] if results is None else [results]
    for base in [] if folders else reversed(places.values()):
        with suppress(StudyError):
            folders.append(base / results_folder(study_file, base=base))
    for folder in folders:
        table = folder / name
        if not table.is_file() or not holds_results_of(folder, study):
            continue
        written = table.stat().st_mtime
        if not any(path.stat().st_mtime > written for path in study.input_files()):
            return table
    return None


def holds_results_of(folder: Path, study: Study) -> bool:
    """Whether a folder holds results of a study that says the same as this one."""
    try:
        return _numbers(load_study(folder / "resolved.yaml")) == _numbers(study)
    except StudyError:
        return False


def stored_record(
    study_file: Path, study: Study, name: str, kind: type[Record], results: Path | None = None
) -> tuple[Record, Path] | None:
    """A record of a study's results and its path, as `stored_table` has it."""
    path = stored_table(study_file, study, name, results)
    return None if path is None else (read_record(path, kind), path)


def _numbers(study: Study) -> dict[str, Any]:
    return {key: value for key, value in study.resolved().items() if key not in NO_NUMBERS}
