"""Verifications kept for all studies: solved once for the same meshes, air, sources, libraries.

Each lies in a folder of its own, ``PHYSICS-RESOLUTION-KEY``, beside the studies' folders: its
checks, the meshes they were solved on, and a record of what it was made from and what it took.
A study takes copies.  No file of a study decides anything here, so the next study finds it.
"""

import fcntl
import hashlib
import json
import shutil
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from borestudy.files import FileError, replacing
from borestudy.provenance import Provenance, file_hash, provenance, source_hash, versions
from borestudy.records import read_record, write_record
from borestudy.stages.air import Conditions

#: Libraries that may change a figure; of Python itself none depends.
LIBRARIES = ("numpy", "scipy", "scikit-fem", "gmsh", "CoolProp")
CHECKS, RECORD = "checks.csv", "verification.json"


@dataclass(frozen=True)
class Settings:
    """All that a verification is made from.

    Attributes
    ----------
    physics : str
        ``acoustics``, ``flow`` or ``playing``.
    resolution : str
        The study's word for its meshes: ``coarse``, ``medium`` or ``fine``.
    air : Conditions
        Of the study's first air.
    source_hash : str
        Of the modules that solve it.
    libraries : dict
        Versions of the libraries that may change a figure.
    """

    physics: str
    resolution: str
    air: Conditions
    source_hash: str
    libraries: Mapping[str, str]

    @property
    def name(self) -> str:
        """Name of its folder: physics, meshes, and a hash of everything."""
        text = json.dumps(asdict(self), sort_keys=True)
        key = hashlib.sha256(text.encode()).hexdigest()[:16]
        return f"{self.physics}-{self.resolution}-{key}"


@dataclass(frozen=True)
class Verification:
    """What a kept verification was made from and what it took; the hash is of its checks' file."""

    settings: Settings
    checks_hash: str
    provenance: Provenance


def source_of_verification(physics: str) -> str:
    """Hash of the sources that decide a verification of ``acoustics``, ``flow`` or ``playing``."""
    return source_hash(f"borestudy.verification.{physics}", "borestudy.stages.verification")


def settings_of(
    physics: str, resolution: str, air: Mapping[str, float], source_hash: str
) -> Settings:
    """Settings with the libraries as they are installed here.

    Parameters
    ----------
    physics, resolution, source_hash : str
        As in `Settings`.
    air : dict
        ``temperature`` [K], ``relative_humidity`` as a share, ``pressure`` [Pa].
    """
    conditions = Conditions(
        temperature_K=float(air["temperature"]),
        relative_humidity=float(air["relative_humidity"]),
        pressure_Pa=float(air["pressure"]),
    )
    found = versions(LIBRARIES)
    libraries = {name: found[name] for name in LIBRARIES if name in found}
    return Settings(physics, resolution, conditions, source_hash, libraries)


def is_kept(settings: Settings, store: Path) -> bool:
    """Whether the folder of all verifications has this one whole."""
    folder = store / settings.name
    try:
        found = read_record(folder / RECORD, Verification)
        return found.settings == settings and found.checks_hash == file_hash(folder / CHECKS)
    except (OSError, FileError):
        return False


def solve_checks(settings: Settings, folder: Path) -> None:
    """Solve what is asked into ``checks.csv`` in a folder, with the meshes beside it."""
    # Seconds to load, for which a study that takes a copy does not wait.
    from borestudy.air import humid_air
    from borestudy.stages.verification import write_checks
    from borestudy.verification.acoustics import verify_acoustics
    from borestudy.verification.flow import verify_flow
    from borestudy.verification.playing import verify_playing

    conditions = settings.air
    verify = {"acoustics": verify_acoustics, "flow": verify_flow, "playing": verify_playing}
    air = humid_air(conditions.temperature_K, conditions.relative_humidity, conditions.pressure_Pa)
    checks = verify[settings.physics](air, settings.resolution, folder)
    write_checks(checks, folder / CHECKS)


def take_verification(
    settings: Settings,
    store: Path,
    checks: Path | str,
    record: Path | str,
    solve: Callable[[Settings, Path], None] = solve_checks,
) -> None:
    """Copy a verification into a study's folder, and solve it before if it is not kept whole.

    Parameters
    ----------
    settings : Settings
        Which.
    store : Path
        The folder of all verifications.
    checks, record : Path or str
        Where the study has its copies.
    solve : callable
        What solves it, as `solve_checks` does.

    Raises
    ------
    FileError
        If something cannot be written.
    """
    if not is_kept(settings, store):
        with _alone(settings, store) as alone:
            # Another run may have made it while this one waited.
            if not is_kept(settings, store):
                _make(settings, store, solve, alone)
    for name, copy in ((CHECKS, checks), (RECORD, record)):
        with replacing(copy) as unfinished:
            shutil.copyfile(store / settings.name / name, unfinished)


def _make(
    settings: Settings, store: Path, solve: Callable[[Settings, Path], None], alone: bool
) -> None:
    kept = store / settings.name
    if alone:
        for left in store.glob(f".{settings.name}.*.unfinished"):
            shutil.rmtree(left)  # by a run that was killed
    unfinished = store / f".{settings.name}.{uuid.uuid4().hex}.unfinished"
    unfinished.mkdir()
    try:
        solve(settings, unfinished)
        made = provenance(settings.source_hash)
        found = Verification(settings, file_hash(unfinished / CHECKS), made)
        write_record(unfinished / RECORD, found)
        if not is_kept(settings, store):
            shutil.rmtree(kept, ignore_errors=True)  # one that was damaged
            unfinished.rename(kept)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)


@contextmanager
def _alone(settings: Settings, store: Path) -> Iterator[bool]:
    """Wait until no other run solves the same; False where the file system knows no locks.

    The lock ends with the process that holds it, however that ends.
    """
    store.mkdir(parents=True, exist_ok=True)
    with open(store / f".{settings.name}.lock", "a", encoding="utf-8") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX)
        except OSError:
            yield False  # then two may solve it at once, and one of them is kept
        else:
            yield True
