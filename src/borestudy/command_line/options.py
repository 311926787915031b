"""Arguments and options that several commands have."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

Decorated = TypeVar("Decorated", bound=Callable[..., Any])
PATH = click.Path(path_type=Path)


def study_argument(function: Decorated) -> Decorated:
    """The study file."""
    words = "study file, such as configs/entry-rounding.yaml"
    return click.argument("study", metavar="STUDY", type=PATH, help=words)(function)


def case_option(function: Decorated) -> Decorated:
    """One case of a study."""
    words = "name of a case, as `borestudy check` lists them; the first"
    return click.option("--case", metavar="NAME", help=words)(function)


def fresh_option(function: Decorated) -> Decorated:
    """Whether to solve what was solved already."""
    words = "solve here, even where results/ has the answer"
    return click.option("--fresh", is_flag=True, help=words)(function)


def results_option(function: Decorated) -> Decorated:
    """Where the study's results are."""
    words = "folder of the study's results; found by itself where `borestudy run` left them"
    return click.option("--results", metavar="FOLDER", type=PATH, help=words)(function)


def output_options(table: str) -> Callable[[Decorated], Decorated]:
    """Files to be written: the whole table, described as that of a study, and a picture."""

    def decorate(function: Decorated) -> Decorated:
        words = f"write the whole table, as {table}"
        output = click.option("--output", metavar="FILE.csv", type=PATH, help=words)
        return output(picture_option(function))

    return decorate


def picture_option(function: Decorated) -> Decorated:
    """A file for a picture of the answer."""
    words = "draw it: an SVG, PNG or PDF file"
    return click.option("--picture", metavar="FILE.svg", type=PATH, help=words)(function)
