"""What is solved of a bore whose dimensions are in error: records alone, which the solving uses."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from borestudy.acoustics.result import AcousticResult
from borestudy.bore import Passage
from borestudy.flow.result import FlowResult
from borestudy.provenance import Provenance


@dataclass(frozen=True)
class PerturbedBore:
    """A bore with one dimension larger by a step; its best estimate is at the reference rate."""

    acoustics: AcousticResult
    flow: FlowResult
    passage: Passage
    step_mm: float = 0.0


@dataclass(frozen=True)
class PerturbedBores:
    """The first case as drawn, and with each dimension in error; None without a mesh."""

    base: PerturbedBore | None
    dimensions: Mapping[str, PerturbedBore] = field(default_factory=dict)
    provenance: Provenance | None = None
