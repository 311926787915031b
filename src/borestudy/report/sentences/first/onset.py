"""What a bore does to the start of a tone: the pressure that it takes, and its pitch."""

from collections.abc import Sequence

from borestudy.quantity import Quantity
from borestudy.report.sentences.first.told import FirstSentence
from borestudy.report.sentences.lead import instead_of
from borestudy.report.sentences.onset import (
    SOUNDING,
    THRESHOLD,
    Kind,
    change_text,
    foremost,
    foremost_change,
    is_easier,
    played,
    played_changes,
    ranked_by_ease,
    span_of,
    tone_of,
)
from borestudy.report.sentences.words import capital, quantity_text
from borestudy.results.case import CaseResults, varied_columns
from borestudy.results.onset_changes import OnsetChange, registers_of


def onset_first(cases: Sequence[CaseResults]) -> list[FirstSentence]:
    """Two sentences on the start of a tone, with one number each; none without an onset.

    Of several bores they are of the one that takes least pressure against the first.
    """
    if not cases or not registers_of(cases[0]):
        return []
    if len(cases) == 1:
        return _of_single(cases[0])
    best = foremost(cases)
    found = played_changes(best, cases[0])
    pitch = change_text(found, SOUNDING, "it", brief=True)
    ends = (best, cases[0])
    return [
        _threshold(best, cases),
        _of(f"{capital(pitch)}.", found, SOUNDING, "sounding_change_cents", *ends),
    ]


def onset_opening(cases: Sequence[CaseResults]) -> list[FirstSentence]:
    """What is said first where the start of a tone is asked for.

    Where several dimensions are varied by themselves, what the pressure does with each of them,
    the bore that is told of first among them; else what `onset_first` says.
    """
    said = onset_first(cases)
    columns = varied_columns(cases)
    if len(cases) < 3 or len(columns) < 2 or not said:
        return said
    best, base = foremost(cases), cases[0]
    alone: dict[tuple[str, ...], CaseResults] = {}
    for case in (best, *ranked_by_ease(cases)):
        differing = tuple(one for one in columns if case.varied.get(one) != base.varied.get(one))
        if len(differing) == 1 or case is best:
            alone.setdefault(differing, case)
    others = [case for case in alone.values() if case is not best]
    return [said[0], *(_threshold(case, cases) for case in others), said[1]]


def _threshold(case: CaseResults, cases: Sequence[CaseResults]) -> FirstSentence:
    """What a bore does to the pressure that a tone takes to start."""
    found = played_changes(case, cases[0])
    lead = instead_of(case, cases[0], varied_columns(cases))
    is_hardest = not is_easier(case, cases[0]) and any(one.threshold.is_told for one in found)
    if is_hardest and case is foremost(cases):
        lead = f"No bore computed starts a tone with less pressure in the mouth; w{lead[1:]}"
    start = change_text(found, THRESHOLD, tone_of(case), brief=True)
    return _of(f"{lead} {start}.", found, THRESHOLD, "threshold_change_percent", case, cases[0])


def _of(
    text: str,
    found: Sequence[OnsetChange],
    kind: Kind,
    column: str,
    case: CaseResults,
    base: CaseResults,
) -> FirstSentence:
    """The sentence with the number that it has."""
    most = foremost_change(found, kind)
    if most is None:
        return FirstSentence(text=text, quantity=kind.name)
    own = kind.of(most).own
    return FirstSentence(
        text=text,
        quantity=f"{kind.name} in register {most.register}",
        value=own.value,
        numerical=own.numerical,
        model=own.model,
        measurement=own.measurement,
        unit=kind.unit,
        file="onset_changes.csv",
        column=column,
        case=case.name,
        against=base.name,
    )


def _of_single(case: CaseResults) -> list[FirstSentence]:
    """The figures of a study's only bore, in the register of its tone or else the lowest played."""
    known = [one for one in played(case, registers_of(case)) if one.mouth_pressure is not None]
    wanted = None if case.tone is None else case.tone.register
    chosen = next((one for one in known if one.register == wanted), known[0] if known else None)
    if chosen is None:
        text = "With the study's own lips no tone starts within 20 kPa of pressure in the mouth."
        return [FirstSentence(text=text, quantity=THRESHOLD.name)]
    others = "" if (span := span_of(chosen)) is None else f" (with other lips at {span} kPa)"
    told = [
        _figure(
            f"With the study's own lips {tone_of(case)} starts in register {chosen.register} at "
            f"{quantity_text(chosen.mouth_pressure, 1e-3)} kPa of pressure in the mouth{others}.",
            THRESHOLD.name, chosen.mouth_pressure, "mouth_pressure_Pa", case,
        ),
        _figure(
            f"It starts {quantity_text(chosen.sounding_above_peak)} cents above the resonance that "
            "it belongs to, as lips that open outward do.",
            SOUNDING.name, chosen.sounding_above_peak, "sounding_above_peak_cents", case,
        ),
    ]  # fmt: skip
    return told if chosen.sounding_above_peak is not None else told[:1]


def _figure(
    text: str, quantity: str, found: Quantity | None, column: str, case: CaseResults
) -> FirstSentence:
    return FirstSentence(
        text=text,
        quantity=quantity,
        value=None if found is None else found.value,
        numerical=None if found is None else found.uncertainty,
        model=0.0,
        unit="" if found is None else found.unit,
        file="onset.csv",
        column=column,
        case=case.name,
    )


def onset_sentences(cases: Sequence[CaseResults]) -> list[str]:
    """The two sentences that a section on the start of a tone opens with; none without an onset."""
    return [one.text for one in onset_first(cases)]
