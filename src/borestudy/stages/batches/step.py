"""A step of a case, whichever it is."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from borestudy.provenance import file_hash
from borestudy.stages.batches.work import CaseWork


@dataclass(frozen=True)
class Step:
    """A step of a case.

    Attributes
    ----------
    name : str
        Its name: ``mesh``, ``two_port``, ``resonance``, ``flow-MODEL``, ``stream``, and with
        lips ``loads``, ``onset``, ``tone``.
    run : callable
        Do it for a case's work.
    settings : callable
        What of the study and of its files the results depend on, for a case's work.
    files : tuple of str
        Patterns of the files that it leaves, in the case's folder.
    needs : tuple of str
        The steps that it builds on.
    reads_meshes : bool
        Whether it reads the meshes of ``mesh``.
    """

    name: str
    run: Callable[[CaseWork], None]
    settings: Callable[[CaseWork], Mapping[str, Any]]
    files: tuple[str, ...]
    needs: tuple[str, ...] = ()
    reads_meshes: bool = False


def termination_settings(work: CaseWork) -> dict[str, Any]:
    """What follows the shank end, as a setting of whatever depends on it."""
    return {
        "termination": work.study.termination(),
        "air_column": work.air_column and file_hash(work.air_column),
    }
