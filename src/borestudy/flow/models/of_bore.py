"""The model of each word of a study, with its place in a bore."""

from dataclasses import dataclass, replace
from typing import Literal

from borestudy.bore import Bore, passage
from borestudy.flow.model import Model

from .estimate import Estimate, FromRimPlane
from .laminar import Laminar
from .spalart_allmaras import SpalartAllmaras
from .spalart_allmaras.onset import onset_in

#: The model of each word, the best estimate as yet without its place in a bore.
MODELS: dict[str, Model] = {
    "estimate": Estimate(),
    "laminar": Laminar(),
    "turbulent": SpalartAllmaras(),
}


@dataclass(frozen=True)
class Transition:
    """Where the best estimate turns turbulent.

    Attributes
    ----------
    start : {"rule", "rim plane"}
        By the rule of :mod:`borestudy.flow.models.spalart_allmaras.onset`; or from the rim plane on
        at every rate whose throat Reynolds number allows it, and by the rule at slower ones.
    distance_factor : float
        Factor of the rule's distances behind a square edge and behind the throat's end.
    behind_edge : float
        Distance behind a square edge [throat diameters], before the factor.
    """

    start: Literal["rule", "rim plane"] = "rule"
    distance_factor: float = 1.0
    behind_edge: float = 0.6


BY_RULE = Transition()


def model_of(word: str, bore: Bore, transition: Transition = BY_RULE) -> Model:
    """The model of a word for one bore.

    Parameters
    ----------
    word : {"estimate", "laminar", "turbulent"}
        Best estimate, or one of the two extreme solutions.
    bore : Bore
        Where the flow turns turbulent follows from its throat and the edge before it.
    transition : Transition
        Options of that rule.
    """
    model = MODELS[word]
    if not isinstance(model, Estimate):
        return model
    onset = replace(
        onset_in(passage(bore)),
        shift=transition.distance_factor,
        behind_edge=transition.behind_edge,
    )
    return replace(model, onset=onset)


def models_of(word: str, bore: Bore, transition: Transition = BY_RULE) -> list[Model]:
    """The models of a word for one bore, each for the rates that it is the first to allow.

    Parameters are those of `model_of`, which is the last and allows what the others do not.
    """
    from_rim_plane = word == "estimate" and transition.start == "rim plane"
    return [*([FromRimPlane()] if from_rim_plane else []), model_of(word, bore, transition)]
