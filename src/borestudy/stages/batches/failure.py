"""A case that failed: stand-ins for the results it has not, so that tables and report name it."""

import numpy as np

from borestudy.flow.regime import rate_scale
from borestudy.mesh.unmeshed import mark_unmeshed
from borestudy.provenance import provenance
from borestudy.records import write_record
from borestudy.results.onset import OnsetResult
from borestudy.results.stream import StreamResult
from borestudy.results.tone import ToneResult
from borestudy.stages.acoustics import write_unmeshed_resonance
from borestudy.stages.batches.keys import keys_of
from borestudy.stages.batches.record import (
    CaseRecord,
    Failure,
    read_case_record,
    write_case_record,
)
from borestudy.stages.batches.steps import steps_of, write_shape
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.flow import unmeshed_flow


def record_failure(work: CaseWork, failure: Failure) -> None:
    """Put a failure on record, and its reason in the place of every result that is missing."""
    home, study, reason = work.home, work.study, failure.words
    steps = steps_of(work.layout)
    keys, record = keys_of(work, steps), read_case_record(home)
    # What an earlier study left is none of this one's results.
    done = {
        name: one
        for name, one in record.steps.items()
        if one.key == keys.get(name) and one.is_whole(home)
    }
    missing = [name for name in steps if name not in done]
    if "mesh" in missing:
        write_shape(work)
        mark_unmeshed([*work.acoustic_meshes, *work.halves], reason)
    if "two_port" in missing:
        mark_unmeshed([home / "two_port.npz"], reason)
    if "resonance" in missing:
        write_unmeshed_resonance(
            work.case.name,
            np.linspace(*study.frequency_range(), study.resonance.points),
            reason,
            work.sources["resonance"],
            home / "acoustics.json",
            home / "impedance.csv",
        )
    diameter = 2 * work.case.build_bore().throat_radius
    scales = [rate_scale(work.air, rate, diameter) for rate in study.flow_rates().tolist()]
    for name in (f"flow-{model}" for model in work.layout.models):
        if name in missing:
            made = provenance(work.sources[name])
            found = unmeshed_flow(name.removeprefix("flow-"), scales, reason, made)
            write_record(home / f"{name}.json", found)
    if "stream" in missing:
        made = provenance(work.sources["stream"])
        write_record(home / "stream.json", StreamResult(not_meshed=reason, provenance=made))
    if "loads" in missing:
        mark_unmeshed([home / "loads.npz"], reason)
    for name, kind in (("onset", OnsetResult), ("tone", ToneResult)):
        if name in missing:
            made = provenance(work.sources[name])
            write_record(home / f"{name}.json", kind(not_meshed=reason, provenance=made))
    write_case_record(home, CaseRecord(steps=done, failure=failure))
