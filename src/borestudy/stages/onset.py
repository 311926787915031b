"""What it takes to start a tone on a case's bore."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.playing.lips import Lips
from borestudy.provenance import provenance
from borestudy.records import write_record
from borestudy.results.onset import OnsetResult
from borestudy.results.onset_of_loads import onset_result
from borestudy.stages.loads import CaseLoads, read_loads


def onset_stage(
    *, loads: Path | str, own: Lips, others: Sequence[Lips], source: str, results: Path | str
) -> None:
    """Find the least threshold in each register with a study's own lips and with others."""
    if (reason := why_unmeshed(loads)) is not None:
        write_record(results, OnsetResult(not_meshed=reason, provenance=provenance(source)))
        return
    found = onset_of(read_loads(loads), own, others)
    write_record(results, replace(found, provenance=provenance(source, {"loads": loads})))


def onset_of(found: CaseLoads, own: Lips, others: Sequence[Lips]) -> OnsetResult:
    """The onset with what lips blow into; see `onset_result`."""
    return onset_result(
        found.loads, own, others, found.behind, found.note, higher=found.higher,
        trusted_below=found.trusted_below,
    )  # fmt: skip
