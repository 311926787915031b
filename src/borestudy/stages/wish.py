"""A study's wish: the bores that come nearest to it, and each solve kept for the next run."""

import hashlib
import json
import logging
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from borestudy.air import Air
from borestudy.bore import Bore, Dimension, bore_from_dimensions
from borestudy.files import FileError, plain
from borestudy.mesh import UnmeshedError
from borestudy.optimisation.asked import Granting
from borestudy.optimisation.granting import grant
from borestudy.optimisation.solved import Question, solve_case
from borestudy.provenance import file_hash, provenance, versions
from borestudy.records import read_record, write_record
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import IN_SI
from borestudy.results.tables.files import write_table
from borestudy.results.tables.wishes import wishes_table
from borestudy.results.wishes import FreeRange, WishedFor, WishResult
from borestudy.stages.question import question_of
from borestudy.study import Study
from borestudy.study.building import sizes_of
from borestudy.study.dimensions import dimensions_of_sizes, values_of_sizes, with_dimension
from borestudy.study.models import BoreDimensions
from borestudy.study.quantity_names import reported_value
from borestudy.study.wish import Asked

logger = logging.getLogger(__name__)


@dataclass
class KeptSolves:
    """Solves of a wish, each under a hash of everything that it was made from.

    An interrupted run leaves what it solved, and the next one takes it from here.
    """

    folder: Path
    question: Question
    source: str
    reused: int = 0
    solved: int = 0

    def solve(
        self,
        bore: Bore,
        dimensions: Sequence[Dimension],
        rates: Sequence[float],
    ) -> CaseResults | None:
        """Results of a bore at some flow rates [m³/s], from the folder or solved; None unmeshed."""
        path = self.folder / f"{self._key(bore, dimensions, rates)}.json"
        if path.is_file():
            try:
                found = read_record(path, CaseResults)
            except FileError as problem:
                logger.warning("%s", problem)
            else:
                self.reused += 1
                return found
        try:
            found = solve_case(path.stem, bore, dimensions, self.question, rates)
        except UnmeshedError as problem:
            logger.warning("%s", problem)
            return None
        finally:
            self.solved += 1
        write_record(path, found)
        return found

    def _key(self, bore: Bore, dimensions: Sequence[Dimension], rates: Sequence[float]) -> str:
        column = self.question.air_column
        made_from = {
            "bore": [[one.part, one.points, one.weights] for one in bore.segments],
            "dimensions": [one.key for one in dimensions],
            "rates": list(rates),
            "question": asdict(replace(self.question, air_column=None)),
            "air column": None if column is None else file_hash(column),
            "source": self.source,
            "versions": versions(),
        }
        text = json.dumps(plain(made_from), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def wish_stage(
    study: Study, air: Air, source: str, solved: Path, record: Path | str, table: Path | str
) -> None:
    """Search for the bores that come nearest to a study's wish; write a `WishResult` and its table.

    Parameters
    ----------
    study : Study
        With a wish of its first case.
    air : Air
        Of that case.
    source : str
        Hash of the sources, for the provenance.
    solved : Path
        Folder in which each solve is kept.
    record, table : path
        The files to write.
    """
    kept = KeptSolves(solved, question_of(study, air), source)
    found = wish_result(study, kept)
    logger.info("%d bores solved, %d taken from a former run", kept.solved, kept.reused)
    found = replace(found, reused=kept.reused, provenance=provenance(source))
    write_record(record, found)
    write_table(wishes_table(found), table)


def wish_result(study: Study, kept: KeptSolves) -> WishResult:
    """What becomes of a study's wish, each bore solved or taken from what is kept.

    Raises
    ------
    ValueError
        If the study has no wish, or the first case no number where something is wished.
    """
    asked, bore = study.asked(), study.cases()[0].bore
    if asked is None or not isinstance(bore, BoreDimensions):
        raise ValueError("wish: found none; allowed is a study with a wish")
    sizes = sizes_of(bore)
    known = values_of_sizes(sizes)
    in_si = {one.key: IN_SI[known[one.key][1]] for one in asked.free}

    def bore_at(values: Mapping[str, float]) -> tuple[Bore, list[Dimension]]:
        changed = sizes
        for key, value in values.items():
            changed = with_dimension(changed, key, value * in_si[key])
        free = [one for one in dimensions_of_sizes(changed) if one.key in in_si]
        return bore_from_dimensions(**changed), free

    wished_rates = {one.quantity.rate for one in asked.wanted} - {None}
    rates = [rate for rate in kept.question.rates if rate in wished_rates]

    def solve_at(values: Mapping[str, float], everything: bool) -> CaseResults | None:
        return kept.solve(*bore_at(values), kept.question.rates if everything else rates)

    return grant(
        Granting(
            wished=_wished(asked),
            free=_free(study, asked, known, in_si),
            bore_at=bore_at,
            solve_at=solve_at,
            sizes={
                one.key: [(word, value / in_si[one.key]) for word, value in one.sizes]
                for one in asked.free
                if one.sizes
            },
            existing=asked.existing,
        )
    )


def _wished(asked: Asked) -> list[WishedFor]:
    """What is wished, in the units of the reported quantities."""
    found = []
    for one in asked.wanted:
        target, unit = one.target, ""
        if one.kind == "reach":
            target, unit = reported_value(one.quantity, one.target)
        found.append(
            WishedFor(
                quantity=one.quantity.name,
                kind=one.kind,
                written=one.written,
                target=target,
                within=one.within,
                scale=one.quantity.scale,
                unit=unit,
            )
        )
    return found


def _free(
    study: Study, asked: Asked, known: Mapping[str, Any], in_si: Mapping[str, float]
) -> list[FreeRange]:
    assert study.wish is not None
    found = []
    for one, section in zip(asked.free, study.wish.free.values(), strict=True):
        label, unit, value = known[one.key]
        found.append(
            FreeRange(
                key=one.key,
                label=label,
                unit=unit,
                start=value / in_si[one.key],
                low=one.low / in_si[one.key],
                high=one.high / in_si[one.key],
                sizes=section.sizes,
            )
        )
    return found
