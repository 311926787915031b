"""Where a result comes from: versions, hashes of sources and files, time and memory.

A result is worth repeating only if it says what made it.  The hash of sources is over the modules
that a stage imports, directly or through others: a change there makes the stage's results stale,
a change elsewhere does not.
"""

import ast
import hashlib
import json
import resource
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from borestudy.files import plain

#: When that began which a result is the end of.
_begun = time.perf_counter()
#: Where Linux lets a process set the peak of its memory to what it has now, by a 5.
CLEAR = Path("/proc/self/clear_refs")
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


def value_hash(value: Any) -> str:
    """SHA-256 of numbers, texts and what holds such, its first 16 hexadecimal digits."""
    text = json.dumps(plain(value), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def file_hash(path: Path | str) -> str:
    """SHA-256 of a file's contents, its first 16 hexadecimal digits."""
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()[:16]


def source_hash(*modules: str, without: Iterable[str] = (), root: Path = ROOT) -> str:
    """Hash of the sources that modules (``borestudy.stages.flow``) use: 16 hexadecimal digits.

    It is of file contents and of names relative to the package's folder alone.  Modules in
    `without` do not count, nor what only they import: for imports that a stage never reaches.
    """
    digest = hashlib.sha256()
    for path in used_sources(*modules, without=without, root=root):
        contents = _contents(path)
        digest.update(f"{path.relative_to(root).as_posix()}\0{len(contents)}\0".encode())
        digest.update(contents)
    return digest.hexdigest()[:16]


@cache
def _contents(path: Path) -> bytes:
    return path.read_bytes()


def used_sources(*modules: str, without: Iterable[str] = (), root: Path = ROOT) -> list[Path]:
    """Files of the modules and of what they import from this package, sorted by name.

    A name that a package's ``__init__`` only passes on leads to the module it comes from, and not
    to the package's other modules.  Files beside a module that are not Python (templates) count;
    the package's own ``__init__``, which is the front door of everything, does not.
    """
    pending, seen = list(modules), set(without)
    files: set[Path] = set()
    while pending:
        name = pending.pop()
        if name in seen:
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
        pending += _used_by(name, path, root)
    return sorted(files)


# Sources do not change while a process asks for them: a workflow does for each of its rules.
@cache
def _used_by(name: str, path: Path, root: Path) -> frozenset[str]:
    """Modules of this package from which a module's own code takes something."""
    if path.name == "__init__.py":
        return frozenset()
    found: set[str] = set()
    for source, wanted, _ in _imports(path, name):
        found |= {source, *_providers(source, wanted, root)}
    return frozenset(found)


@cache
def _module_file(name: str, root: Path) -> Path | None:
    """Source file of a dotted name, None if it is no module of this package."""
    first, *steps = name.split(".")
    base = root.joinpath(*steps)
    paths = (base / "__init__.py", base.with_suffix(".py")) if first == PACKAGE else ()
    return next((path for path in paths if path.is_file()), None)


@cache
def _data_files(folder: Path) -> frozenset[Path]:
    code = (".py", ".pyc", ".pyi")
    return frozenset(
        path for path in folder.rglob("*") if path.is_file() and path.suffix not in code
    )


@cache
def _imports(path: Path, name: str) -> list[tuple[str, str, str]]:
    """What a file imports from this package: module, name there, name here."""
    parents = name.split(".")[: None if path.name == "__init__.py" else -1]
    found = []
    for node in _statements(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            # All that the module has may be used, so no single name leads on from it.
            found += [(alias.name, "*", "*") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            above = parents[: len(parents) + 1 - node.level] if node.level else []
            source = ".".join([*above, node.module] if node.module else above)
            found += [(source, alias.name, alias.asname or alias.name) for alias in node.names]
    return [each for each in found if each[0].split(".")[0] == PACKAGE]


def _statements(block: ast.AST) -> Iterator[ast.AST]:
    """All statements in a module; most nodes are in expressions, which import nothing."""
    for name in ("body", "orelse", "handlers", "finalbody", "cases"):
        # A conditional expression has a body as well, which is no list.
        for one in found if isinstance(found := getattr(block, name, None), list) else ():
            yield one
            yield from _statements(one)


@cache
def _providers(source: str, wanted: str, root: Path) -> list[str]:
    """Where ``from source import wanted`` leads beyond ``source`` itself."""
    if _module_file(f"{source}.{wanted}", root) is not None:
        return [f"{source}.{wanted}"]
    path = _module_file(source, root)
    if path is None or path.name != "__init__.py":
        return []
    passed_on = [each for each in _imports(path, source) if each[0] != source]
    for origin, original, bound in passed_on:
        if bound == wanted:
            return [origin, *_providers(origin, original, root)]
    # The name is made in __init__ itself, from whatever that imports.
    return [origin for origin, *_ in passed_on]


def begin() -> None:
    """Have time and memory count from now on, where Linux allows the latter."""
    global _begun
    _begun = time.perf_counter()
    with suppress(OSError):
        CLEAR.write_text("5", encoding="ascii")


def peak_memory_megabytes() -> float:
    """Largest resident memory of this process so far [MB of 10⁶ bytes]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # Linux counts in kibibytes, macOS in bytes.
    return peak * (1 if sys.platform == "darwin" else 1024) / 1e6


@dataclass(frozen=True)
class Provenance:
    """What made a result file.

    The unknowns are those of the finite-element problem on each mesh, coarsest first; the residual
    is the largest relative one of the solves; time counts from `begin`, or from when this module
    was loaded.
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
    """What made a result, once it is made; `inputs` are its files by the names to give them."""
    return Provenance(
        versions=versions(),
        source_hash=source,
        input_hashes={name: file_hash(path) for name, path in (inputs or {}).items()},
        unknowns=None if unknowns is None else tuple(unknowns),
        residual=residual,
        wall_time_s=round(time.perf_counter() - _begun, 3),
        peak_memory_MB=round(peak_memory_megabytes(), 1),
    )
