"""The model of each word of a study, with its place in a bore."""

from dataclasses import replace

from borestudy.bore import Bore, passage
from borestudy.flow.model import Model

from .estimate import Estimate
from .laminar import Laminar
from .spalart_allmaras import SpalartAllmaras
from .spalart_allmaras.onset import onset_in

#: The model of each word, the best estimate as yet without its place in a bore.
MODELS: dict[str, Model] = {
    "estimate": Estimate(),
    "laminar": Laminar(),
    "turbulent": SpalartAllmaras(),
}


def model_of(word: str, bore: Bore) -> Model:
    """The model of a word for one bore.

    Parameters
    ----------
    word : {"estimate", "laminar", "turbulent"}
        Best estimate, or one of the two extreme solutions.
    bore : Bore
        Where the flow turns turbulent follows from its throat and the edge before it.
    """
    model = MODELS[word]
    return replace(model, onset=onset_in(passage(bore))) if isinstance(model, Estimate) else model
