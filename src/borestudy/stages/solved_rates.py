"""Flow rates that a former job of the same case solved, kept so that they are not solved again.

Snakemake deletes a job's results before it starts, so these have a folder of their own.  They are
of the same sources, meshes, air and settings, or they are not used.
"""

import hashlib
import json
import os
import shutil
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from borestudy.files import FileError
from borestudy.flow.fields import field_name
from borestudy.provenance import file_hash, plain, read_json, versions, write_json

#: What a file of results says of the whole run, one entry a mesh.
RUN_KEYS = ("newton_steps", "shortened_steps", "iterations", "factorisations", "solve_seconds")
LAST_RATE = "last_converged_flow_rate_L_per_s"


@dataclass(frozen=True)
class SolvedRates:
    """The folder of a case's solved rates of one solution, under a key of what they were made from.

    Attributes
    ----------
    folder : Path
        Of the solution; it holds one folder a key.
    key : str
    """

    folder: Path
    key: str

    def read(self, rates: Iterable[float]) -> dict[float, dict[str, Any]]:
        """What was kept of each of the rates [m³/s] that was solved, as `keep` was given it."""
        return {rate: entry for rate in rates if (entry := self._read(rate)) is not None}

    def put_beside(
        self,
        known: Mapping[float, Mapping[str, Any]],
        wanted: Sequence[float],
        solved: Mapping[str, Any],
        fields: Path,
    ) -> None:
        """Put fields of known rates into the job's folder, and keep what it solved at the others.

        Parameters
        ----------
        known : mapping of float to mapping
            What `read` gave.
        wanted : sequence of float [m³/s]
            The other rates.
        solved : mapping
            What the solver says of them; a rate that did not converge is tried again next time.
        fields : Path
            Folder of the job's fields.
        """
        for entry in known.values():
            name = entry["row"]["field"]
            _link(self.folder / self.key / name, fields / name)
        whole = {name: value for name, value in solved.items() if name != "rates"}
        for rate, row in zip(wanted, solved.get("rates", []), strict=True):
            if row["converged"]:
                self.keep(rate, row, whole, fields)
        for other in self.folder.glob("*"):
            if other.name != self.key:
                shutil.rmtree(other)

    def keep(self, rate: float, row: Mapping[str, Any], whole: Any, fields: Path) -> None:
        """Keep a converged rate: its row, what is said of the whole run, and its field."""
        home = self.folder / self.key
        home.mkdir(parents=True, exist_ok=True)
        _link(fields / row["field"], home / row["field"])
        entry = {"rate_m3_per_s": rate, "row": row, "whole": whole}
        entry |= {"field_hash": file_hash(home / row["field"])}
        write_json(home / f"{field_name(rate)}.json", entry)

    def _read(self, rate: float) -> dict[str, Any] | None:
        home = self.folder / self.key
        try:
            entry: dict[str, Any] = read_json(home / f"{field_name(rate)}.json")
            whole = file_hash(home / entry["row"]["field"]) == entry["field_hash"]
        except (FileError, OSError):
            return None
        return entry if whole and entry["rate_m3_per_s"] == rate else None


def solved_rates(results: Path | str, made_from: Mapping[str, Any]) -> SolvedRates:
    """The rates that were solved for a file of results, from the same things.

    Parameters
    ----------
    results : path
        ``flow.json`` or ``closure.json`` in a case's folder.
    made_from : mapping
        Everything that decides the solution at a rate, other rates left out.
    """
    text = json.dumps(plain({**made_from, "versions": versions()}), sort_keys=True)
    key = hashlib.sha256(text.encode()).hexdigest()[:16]
    results = Path(results)
    return SolvedRates(results.parent / "solved" / results.stem, key)


def joined(
    rates: Sequence[float],
    found: Mapping[str, Any],
    known: Mapping[float, Mapping[str, Any]],
    warnings: Sequence[str],
) -> dict[str, Any]:
    """One result of the rates that were solved now and of those that were kept.

    Parameters
    ----------
    rates : sequence of float [m³/s]
        All of them, rising.
    found : mapping
        What the solver says of those without an entry; empty where there were none.
    known : mapping of float to mapping
        Entries of the others.
    warnings : sequence of str
        For all rates.
    """
    solved = iter(found.get("rates", []))
    rows = [dict(known[rate]["row"]) if rate in known else next(solved) for rate in rates]
    sources = [*(entry["whole"] for entry in known.values()), *([found] if found else [])]
    whole = dict(sources[-1]) if sources else {}
    whole |= {} if found else {key: [] for key in RUN_KEYS if key in whole}
    whole["unknowns"] = max((source["unknowns"] for source in sources), key=len, default=[])
    reached = [row["flow_rate_L_per_s"] for row in rows if row["converged"]]
    for row in rows:
        if LAST_RATE in row:
            row[LAST_RATE] = max(reached, default=None)
    reused = [
        row["flow_rate_L_per_s"] for row, rate in zip(rows, rates, strict=True) if rate in known
    ]
    return whole | {"rates": rows, "warnings": list(warnings), "reused_rates_L_per_s": reused}


def _link(source: Path, target: Path) -> None:
    """The same file in another place, copied where the file system has no links."""
    target.unlink(missing_ok=True)
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)
