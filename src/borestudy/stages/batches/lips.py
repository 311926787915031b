"""The steps that a case of a study with lips has besides."""

from dataclasses import asdict
from typing import Any

from borestudy.mesh import ESTIMATE
from borestudy.stages.batches.step import Step, termination_settings
from borestudy.stages.batches.work import CaseWork
from borestudy.stages.loads import loads_stage
from borestudy.stages.onset import onset_stage
from borestudy.stages.tone import tone_stage
from borestudy.study.lips import LipsSection

#: As `SOURCES` of the other steps.
SOURCES_OF_LIPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    name: ((f"borestudy.stages.{name}",), ()) for name in ("loads", "onset", "tone")
}


def _loads(work: CaseWork) -> None:
    model = ESTIMATE.kind
    loads_stage(
        whole=work.home / "two_port.npz",
        halves=work.halves,
        solutions={model: work.home / f"flow-{model}.json"},
        bore=work.home / "bore.json",
        termination=work.study.termination(),
        air_column=work.air_column,
        output=work.home / "loads.npz",
    )


def _lips(work: CaseWork) -> LipsSection:
    """The study's lips, which it has wherever there are such steps."""
    assert work.study.lips is not None
    return work.study.lips


def _onset(work: CaseWork) -> None:
    onset_stage(
        loads=work.home / "loads.npz",
        own=_lips(work).own(),
        others=_lips(work).others(),
        source=work.sources["onset"],
        results=work.home / "onset.json",
    )


def _onset_settings(work: CaseWork) -> dict[str, Any]:
    return {"lips": asdict(_lips(work).own()), "set": _lips(work).set_}


def _tone(work: CaseWork) -> None:
    tone_stage(
        loads=work.home / "loads.npz",
        onset=work.home / "onset.json",
        own=_lips(work).own(),
        **_tone_settings(work),
        source=work.sources["tone"],
        results=work.home / "tone.json",
    )


def _tone_settings(work: CaseWork) -> dict[str, Any]:
    lips = _lips(work)
    return {"register": lips.register, "soft": lips.soft, "loud": lips.loud}


#: What a study with lips has besides: only the first of them reads meshes.
STEPS_OF_LIPS = (
    Step(
        "loads",
        _loads,
        termination_settings,
        ("loads.npz",),
        ("two_port", f"flow-{ESTIMATE.kind}"),
        reads_meshes=True,
    ),
    Step("onset", _onset, _onset_settings, ("onset.json",), ("loads",)),
    Step("tone", _tone, _tone_settings, ("tone.json", "tone-*.wav"), ("loads", "onset")),
)
