"""What became of a wish, in at most three sentences."""

from borestudy.quantity import spelled
from borestudy.report.sentences.first.told import BOTH_ERRORS, FirstSentence
from borestudy.report.sentences.wish import dimension_text
from borestudy.report.sentences.words import listed
from borestudy.results.wishes import MET, MET_UNSURELY, NOT_MET_UNSURELY, NewQuantity, WishResult
from borestudy.rounding import with_uncertainty

MOST = 3
#: What players and makers call a quantity, by the end of its name.
PLAIN = {" Q": "the sharpness of {}", " impedance": "the strength of {}"}
MEANING = {
    MET: "as wished",
    MET_UNSURELY: "as wished, though the uncertainty could turn that round",
    NOT_MET_UNSURELY: "which may or may not be what was wished, {}",
}


def wished_sentences(found: WishResult) -> list[FirstSentence]:
    """How far the best bore goes in each quantity wished for, what it misses first."""
    if not found.returned:
        return [FirstSentence(text=f"The wish has no answer: {found.stopped}.", quantity="")]
    best = found.returned[0]
    wished = [one for one in best.quantities if one.wish]
    wished.sort(key=lambda one: one.verdict.startswith(MET))
    sizes = listed([dimension_text(one) for one in best.dimensions])
    leads = [f"With {sizes}", *["With the same bore"] * len(wished)]
    pairs = zip(leads, wished, strict=False)
    return [_sentence(lead, one, best.name) for lead, one in pairs][:MOST]


def _sentence(lead: str, one: NewQuantity, bore: str) -> FirstSentence:
    name = plain_name(one.quantity)
    unit = spelled(one.scale)
    meant = MEANING.get(one.verdict, "while {} was wished").format(one.wish)
    text = f"{lead} {name} is not known"
    if one.change is not None:
        verb = "rises" if one.change > 0 else "falls"
        size = with_uncertainty(abs(one.change), one.uncertainty)
        text = f"{lead} {name} {verb} by {size} {unit}, {meant}"
        text += f"; {BOTH_ERRORS}" if one.model else ""
    return FirstSentence(
        text=f"{text}.",
        quantity=one.quantity,
        value=one.change,
        numerical=one.numerical,
        model=one.model,
        unit=unit,
        file="wishes.csv",
        column="change",
        case=bore,
    )


def plain_name(quantity: str) -> str:
    """A quantity of a wish in a player's words.

    >>> plain_name("resonance Q")
    'the sharpness of the first resonance'
    """
    for end, words in PLAIN.items():
        if quantity.endswith(end):
            return words.format(plain_name(quantity.removesuffix(end)))
    if quantity == "resonance":
        return "the first resonance"
    return f"the {quantity.replace('peak ', 'partial ', 1)}"
