"""Where a result comes from: versions, hashes of sources and files, time and memory.

A result is worth repeating only if it says what made it.  The hash of sources is over the modules
that a stage imports, directly or through others: a change there makes the stage's results stale,
a change elsewhere does not.
"""

import ast
import hashlib
import resource
import sys
import time
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

START = time.perf_counter()
PACKAGE = "borestudy"
ROOT = Path(__file__).resolve().parent
#: Whose versions can change a number.
PACKAGES = ("borestudy", "numpy", "scipy", "scikit-fem", "gmsh", "CoolProp", "fluids", "meshio")


def versions(packages: Iterable[str] = PACKAGES) -> dict[str, str]:
    """Version of Python and of each package that is installed, without importing any."""
    found = {"python": ".".join(map(str, sys.version_info[:3]))}
    for name in packages:
        with suppress(PackageNotFoundError):
            found[name] = version(name)
    return found


def file_hash(path: Path | str) -> str:
    """SHA-256 of a file's contents, its first 16 hexadecimal digits."""
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()[:16]


def source_hash(*modules: str, without: Iterable[str] = (), root: Path = ROOT) -> str:
    """Hash of the sources that modules of this package use.

    Parameters
    ----------
    modules : str
        Dotted names, such as ``borestudy.stages.flow``.
    without : iterable of str
        Modules whose sources do not count, nor what only they import: for imports that the
        stage never reaches.
    root : Path
        Folder of the package.

    Returns
    -------
    str
        16 hexadecimal digits, of file contents and of names relative to the package alone.
    """
    digest = hashlib.sha256()
    for path in used_sources(*modules, without=without, root=root):
        contents = path.read_bytes()
        digest.update(f"{path.relative_to(root).as_posix()}\0{len(contents)}\0".encode())
        digest.update(contents)
    return digest.hexdigest()[:16]


def used_sources(*modules: str, without: Iterable[str] = (), root: Path = ROOT) -> list[Path]:
    """Files of the modules and of what they import from this package, sorted by name.

    A name that a package's ``__init__`` only passes on leads to the module it comes from, and not
    to the package's other modules.  Files beside a module that are not Python (templates) count;
    the package's own ``__init__``, which is the front door of everything, does not.
    """
    excluded = set(without)
    pending, seen = list(modules), set()
    files: set[Path] = set()
    while pending:
        name = pending.pop()
        if name in seen or name in excluded:
            continue
        seen.add(name)
        path = _module_file(name, root)
        if path is None:
            raise ValueError(
                f"found {name!r}; allowed is a module of this package, for example {PACKAGE}.air"
            )
        if name == PACKAGE:
            continue
        files.add(path)
        if path.parent != root:
            files.update(_data_files(path.parent))
        pending += [used for used in _imports(path, name, root) if used not in excluded]
    return sorted(files)


def _module_file(name: str, root: Path) -> Path | None:
    """Source file of a dotted name inside the package, None if it is no module of it."""
    first, *steps = name.split(".")
    if first != PACKAGE:
        return None
    base = root.joinpath(*steps)
    for path in (base / "__init__.py", base.with_suffix(".py")):
        if path.is_file():
            return path
    return None


@cache
def _data_files(folder: Path) -> frozenset[Path]:
    return frozenset(
        path
        for path in folder.rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc", ".pyi")
    )


@cache
def _imported(path: Path) -> tuple[tuple[int, str, tuple[tuple[str, str], ...]], ...]:
    """Imports of a file: dots in front, module, ((name, name it is bound to), …)."""
    found: list[Any] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            # All that the module has may be used, so no single name leads on from it.
            found += [(0, alias.name, (("*", "*"),)) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = tuple((alias.name, alias.asname or alias.name) for alias in node.names)
            found.append((node.level, node.module or "", names))
    return tuple(found)


def _imports(path: Path, name: str, root: Path) -> list[str]:
    """Modules of the package that a file uses; of an ``__init__``, none that it only passes on."""
    if path.name == "__init__.py":
        return []
    used = []
    for level, module, names in _imported(path):
        source = _absolute(level, module, name, is_package=False)
        if source.split(".")[0] != PACKAGE:
            continue
        used.append(source)
        used += [found for wanted, _ in names for found in _providers(source, wanted, root)]
    return used


def _providers(source: str, wanted: str, root: Path) -> list[str]:
    """Where ``from source import wanted`` leads beyond ``source`` itself."""
    if _module_file(f"{source}.{wanted}", root) is not None:
        return [f"{source}.{wanted}"]
    path = _module_file(source, root)
    if path is None or path.name != "__init__.py":
        return []
    origins = []
    for level, module, names in _imported(path):
        origin = _absolute(level, module, source, is_package=True)
        if origin.split(".")[0] != PACKAGE or origin == source:
            continue
        for original, bound in names:
            if bound == wanted:
                return [origin, *_providers(origin, original, root)]
        origins.append(origin)
    # The name is made in __init__ itself, from whatever that imports.
    return origins


def _absolute(level: int, module: str, importer: str, *, is_package: bool) -> str:
    """Dotted name of what ``importer`` calls ``module`` with ``level`` dots in front."""
    if level == 0:
        return module
    steps = importer.split(".")
    base = steps[: len(steps) - level + is_package]
    return ".".join([*base, *([module] if module else [])])


def peak_memory_megabytes() -> float:
    """Largest resident memory of this process so far [MB of 10⁶ bytes]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # Linux counts in kibibytes, macOS in bytes.
    return peak * (1 if sys.platform == "darwin" else 1024) / 1e6


@dataclass(frozen=True)
class Provenance:
    """What made a result file.

    Attributes
    ----------
    versions : mapping of str to str
        Versions of Python and of each package that can change a number.
    source_hash : str
        Hash of the sources, from `source_hash`.
    input_hashes : mapping of str to str
        Hash of each file the result was made from, by the name of the input.
    unknowns : tuple of int or None
        Size of the finite-element problem on each mesh, coarsest first.
    residual : float or None
        Largest relative residual of the solves.
    wall_time_s, peak_memory_MB : float
        Time since this module was loaded, which scripts do first, and the most memory held.
    """

    versions: Mapping[str, str]
    source_hash: str
    input_hashes: Mapping[str, str]
    unknowns: tuple[int, ...] | None
    residual: float | None
    wall_time_s: float
    peak_memory_MB: float


def provenance(
    source: str,
    inputs: Mapping[str, Path | str] | None = None,
    unknowns: Iterable[int] | None = None,
    residual: float | None = None,
) -> Provenance:
    """Say what made a result, once it is made.

    Parameters
    ----------
    source : str
        Hash that `source_hash` gave.
    inputs : mapping of str to path, optional
        Files the result was made from, by the name to give them (``mesh``).
    unknowns, residual
        See `Provenance`.
    """
    return Provenance(
        versions=versions(),
        source_hash=source,
        input_hashes={name: file_hash(path) for name, path in (inputs or {}).items()},
        unknowns=None if unknowns is None else tuple(unknowns),
        residual=residual,
        wall_time_s=round(time.perf_counter() - START, 3),
        peak_memory_MB=round(peak_memory_megabytes(), 1),
    )
