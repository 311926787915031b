"""A file that stands where a mesh should be and says why there is none.

With it a case that gmsh finds no mesh for becomes results that say so, and the others go on.
"""

from collections.abc import Iterable
from pathlib import Path

#: What such a file begins with; no mesh does.
MARK = "not meshed: "


def mark_unmeshed(paths: Iterable[Path | str], reason: str) -> None:
    """Put a reason where files should be."""
    for path in map(Path, paths):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{MARK}{reason}\n", encoding="utf-8")


def why_unmeshed(*paths: Path | str) -> str | None:
    """The reason in the first of these files that holds one; None where each is what it should."""
    for path in paths:
        with open(path, "rb") as stream:
            if stream.read(len(MARK)) == MARK.encode():
                return stream.read().decode().strip()
    return None
