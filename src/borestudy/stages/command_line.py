"""What is seen of Snakemake's command line before Snakemake reads the study file."""

import sys
from collections.abc import Sequence
from pathlib import Path

from borestudy.study import StudyError, read_yaml, study_from_mapping

OPTIONS = ("--configfile", "--configfiles")


def refuse_unreadable_study(arguments: Sequence[str] | None = None) -> None:
    """End the process with one line where the study file is not there or no YAML mapping.

    Parameters
    ----------
    arguments : sequence of str, optional
        Of the command line; those of this process by default.
    """
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
