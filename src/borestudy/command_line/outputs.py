"""Files that a command is asked to write: refused before a computation, written after it."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from borestudy.command_line.command import Answer

#: What a picture's file may be.
PICTURES = (".svg", ".png", ".pdf")


def check_outputs(output: Path | None, picture: Path | None) -> None:
    """Refuse names of files that cannot be what they are asked to be.

    Raises
    ------
    ValueError
        Naming the option, what was found, what is allowed, and an example.
    """
    for option, path, kinds in (("--output", output, (".csv",)), ("--picture", picture, PICTURES)):
        if path is not None:
            check_file(option, path, kinds)


def check_file(option: str, path: Path, kinds: Sequence[str]) -> None:
    """Refuse a name that cannot be a file of these endings, by a ValueError as above."""
    example = path.with_suffix(kinds[0]).name if path.stem else f"answer{kinds[0]}"
    if path.suffix not in kinds:
        raise ValueError(
            f"{option}: found {str(path)!r}; allowed is a file that ends in "
            f"{' or '.join(kinds)}, for example {example}"
        )
    if path.is_dir() or not path.parent.is_dir():
        what = "which is a folder" if path.is_dir() else f"and no folder {path.parent}"
        raise ValueError(
            f"{option}: found {str(path)!r}, {what}; allowed is a file in a folder that is "
            f"there, for example {example}"
        )


def answer_of(
    view: Any,
    lines: list[str],
    facts: Mapping[str, Any],
    output: Path | None = None,
    picture: Path | None = None,
) -> Answer:
    """An answer with a view's table among its facts; table and picture are written if asked for.

    Parameters
    ----------
    view : object
        With ``to_frame()`` and, for a picture, ``plot()``.
    lines : list of str
        The answer as text; a line for each file is added.
    facts : dict
        What the answer is about, to which the table comes as ``rows``.
    output, picture : Path, optional
        Files to write, which `check_outputs` has let pass.
    """
    table, files = view.to_frame(), {}
    if output is not None:
        from borestudy.results.tables.files import write_table

        write_table(table, output)
        files["Table"] = output
    if picture is not None:
        from borestudy.views.pictures import save_picture

        save_picture(view.plot(), picture)
        files["Picture"] = picture
    said = [f"{name}: {path}" for name, path in files.items()]
    return Answer([*lines, *said], {**facts, "rows": table, "files": list(files.values())})
