"""A case's tone, and the sounds of it."""

from dataclasses import replace
from pathlib import Path

from borestudy.files import replacing
from borestudy.mesh.unmeshed import why_unmeshed
from borestudy.playing.lips import Lips
from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.onset import OnsetResult
from borestudy.results.tone import ToneResult
from borestudy.results.tone_in_time import tone_result
from borestudy.stages.loads import read_loads


def tone_stage(
    *,
    loads: Path | str,
    onset: Path | str,
    own: Lips,
    register: int,
    soft: float,
    loud: float,
    source: str,
    results: Path | str,
) -> None:
    """Solve the tone in a register at two levels, and write it with its sounds beside it."""
    results = Path(results)
    for stale in results.parent.glob("tone-*.wav"):
        stale.unlink()
    if (reason := why_unmeshed(loads)) is not None:
        write_record(results, ToneResult(not_meshed=reason, provenance=provenance(source)))
        return
    asked, begin = read_loads(loads), read_record(onset, OnsetResult)
    higher = replace(asked.loads[-1], steady=asked.higher)
    found, sounds = tone_result(asked.loads, own, begin, register, soft, loud, higher)
    for name, sound in sounds.items():
        with replacing(results.with_name(name)) as unfinished:
            unfinished.write_bytes(sound)
    made = provenance(source, {"loads": loads, "onset": onset})
    write_record(results, replace(found, provenance=made))
