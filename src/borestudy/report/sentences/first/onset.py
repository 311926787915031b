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
    lead = instead_of(best, cases[0], varied_columns(cases))
    if not is_easier(best, cases[0]) and any(one.threshold.is_told for one in found):
        lead = f"No bore computed starts a tone with less pressure in the mouth; w{lead[1:]}"
    start = change_text(found, THRESHOLD, tone_of(best), brief=True)
    pitch = change_text(found, SOUNDING, "it", brief=True)
    ends = (best, cases[0])
    return [
        _of(f"{lead} {start}.", found, THRESHOLD, "threshold_change_percent", *ends),
        _of(f"{capital(pitch)}.", found, SOUNDING, "sounding_change_cents", *ends),
    ]


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
