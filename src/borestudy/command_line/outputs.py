"""Files that a command is asked to write: refused before a computation, written after it."""

from pathlib import Path
from typing import Any

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
        if path is None:
            continue
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


def write_outputs(view: Any, output: Path | None, picture: Path | None = None) -> list[str]:
    """Write a view's table and picture where they are asked for; a line for each."""
    said = []
    if output is not None:
        from borestudy.results.tables.files import write_table

        write_table(view.to_frame(), output)
        said.append(f"Table: {output}")
    if picture is not None:
        from borestudy.views.pictures import save_picture

        save_picture(view.plot(), picture)
        said.append(f"Picture: {picture}")
    return said
