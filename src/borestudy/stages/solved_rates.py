"""Flow rates that a former job of the same case solved, kept so that they are not solved again.

Snakemake deletes a job's results before it starts, so these have a folder of their own.  They are
of the same sources, bore, air, model and settings, or they are not used; a rate is known by its
exact value.
"""

import os
import shutil
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from borestudy.files import FileError
from borestudy.flow.meshes import FlowMeshes
from borestudy.flow.result import FlowAtRate, FlowResult
from borestudy.provenance import file_hash, value_hash, versions
from borestudy.records import read_record, write_record


@dataclass(frozen=True, kw_only=True)
class KeptRate:
    """A converged rate, judged by itself, with what its meshes were, coarsest first.

    The height of the first cells along the wall is over that of the preset.
    """

    row: FlowAtRate
    unknowns: tuple[int, ...]
    mesh_hashes: tuple[str, ...]
    cell_height: float
    field_hash: str


@dataclass(frozen=True)
class SolvedRates:
    """The folder of a case's solved rates of one model, under a key of what they were made from."""

    folder: Path

    def read(self, rates: Sequence[float]) -> dict[int, KeptRate]:
        """What was kept of the rates [m³/s], by their index."""
        found = {index: self._read(rate) for index, rate in enumerate(rates)}
        return {index: entry for index, entry in found.items() if entry is not None}

    def keep(
        self,
        rates: Sequence[float],
        found: FlowResult,
        known: Container[int],
        fields: Path,
        meshes: FlowMeshes,
    ) -> None:
        """Keep what was solved, by the rates' exact values [m³/s]; the rest is tried again.

        `known` are the indices of rates that were kept already; in `found` each is judged by
        itself.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        hashes = meshes.hashes()
        for index, (rate, row) in enumerate(zip(rates, found.rates, strict=True)):
            if row.field is not None and index not in known:
                _link(fields / row.field, self.folder / row.field)
                entry = KeptRate(
                    row=row,
                    unknowns=found.unknowns,
                    mesh_hashes=hashes,
                    cell_height=meshes.height,
                    field_hash=file_hash(self.folder / row.field),
                )
                write_record(self._path(rate), entry)
        for other in self.folder.parent.iterdir():
            if other != self.folder:
                shutil.rmtree(other)

    def restore(self, known: Mapping[int, KeptRate], fields: Path) -> None:
        """Put the fields of known rates into the job's folder."""
        for entry in known.values():
            assert entry.row.field is not None
            _link(self.folder / entry.row.field, fields / entry.row.field)

    def _path(self, rate: float) -> Path:
        return self.folder / f"{float(rate)!r}_m3_per_s.json"

    def _read(self, rate: float) -> KeptRate | None:
        try:
            entry = read_record(self._path(rate), KeptRate)
            whole = file_hash(self.folder / (entry.row.field or "")) == entry.field_hash
        except (FileError, OSError):
            return None
        return entry if whole else None


def solved_rates(results: Path | str, made_from: Mapping[str, object]) -> SolvedRates:
    """The rates that were solved for a file of a case's results, from the same things.

    `made_from` is everything that decides the solution at a rate, other rates left out.
    """
    key = value_hash({**made_from, "versions": versions()})
    results = Path(results)
    return SolvedRates(results.parent / "solved" / results.stem / key)


def _link(source: Path, target: Path) -> None:
    """The same file in another place, copied where the file system has no links."""
    target.unlink(missing_ok=True)
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)
