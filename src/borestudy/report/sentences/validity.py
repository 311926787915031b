"""What limits a study's answers, one plain sentence each."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from borestudy.flow.refinement import energy_limit
from borestudy.flow.regime import MACH_WARNING
from borestudy.flow.result import FlowAtRate
from borestudy.report.sentences import onset_limits
from borestudy.report.sentences.readings import readings_sentences
from borestudy.report.sentences.words import capital, rate_text
from borestudy.results.case import CaseResults
from borestudy.results.estimate import (
    ESTIMATE,
    LAMINAR,
    SOLUTIONS,
    TURBULENT,
    EstimatedRate,
)
from borestudy.rounding import significant

#: Of the flow out against the flow in: the discrete continuity adds up to it exactly, so
#: that rounding is all it may be off by (1e-14 was seen).
MASS_LIMIT = 1e-9
#: Through a section between, the flow is off by what the mesh leaves, like any other figure.  An
#: error δ of it moves a pressure there by 2 δ q, which is to be within this share of the numerical
#: uncertainty of the pressure drop, so that the latter need not allow for it.
SECTION_SHARE = 0.1
TOO_COARSE = "y+ too large"
NOT_REDUCED = (
    "the reduced basis did not reach its tolerance, so every frequency was solved directly"
)
#: Reasons for which there is no solution that are told one by one.
REASONS = 20
#: A case and one of its flow rates.
Row = tuple[CaseResults, EstimatedRate]
#: What a reader calls the solutions.
CALLED = {ESTIMATE: "flow", LAMINAR: "wholly laminar flow", TURBULENT: "wholly turbulent flow"}


def validity_sentences(cases: Sequence[CaseResults]) -> list[str]:
    """Everything the results themselves say of where they stop being good."""
    stations = [f"Stations of {who}: {doubt}." for doubt, who in _said_of(cases, _doubts).items()]
    sound = [f"Resonance, {who}: {words}." for words, who in _said_of(cases, _of_sound).items()]
    return [
        *_unmeshed(cases),
        *stations,
        *readings_sentences(cases),
        *sound,
        *_flow(cases),
        *_playing(cases),
    ]


def _playing(cases: Sequence[CaseResults]) -> Iterator[str]:
    """What limits the start of a tone and the tone, where a study has lips."""
    if not onset_limits.has_lips(cases):
        return
    yield f"{onset_limits.MODEL}."
    for called, words_of in (
        ("Start of a tone", onset_limits.of_onset),
        ("Tone", onset_limits.of_tone),
    ):
        for words, who in _said_of(cases, words_of).items():
            yield f"{called}, {who}: {words}."


def _unmeshed(cases: Sequence[CaseResults]) -> Iterator[str]:
    """Which bores have no solution, each reason once, the most frequent first of many."""
    said: dict[tuple[str, str], list[str]] = {}
    for case in cases:
        for found in case.unmeshed.items():
            said.setdefault(found, []).append(case.called)
    if len(said) > REASONS:
        said = dict(sorted(said.items(), key=lambda pair: -len(pair[1])))
    for (physics, reason), names in list(said.items())[:REASONS]:
        yield (
            f"{capital(_who(names))}: there is no solution for {physics}, and no number "
            f"that needs one: {reason}."
        )
    if left := list(said.values())[REASONS:]:
        yield (
            f"{sum(map(len, left))} more solutions are missing for {len(left)} other reasons: each "
            "is a row of verification.csv."
        )


def _said_of(
    cases: Sequence[CaseResults], words_of: Callable[[CaseResults], Iterable[str]]
) -> dict[str, str]:
    """What is said of any case, and of which cases."""
    said: dict[str, list[str]] = {}
    for case in cases:
        for words in words_of(case):
            said.setdefault(words, []).append(case.called)
    return {words: _who(names, len(cases)) for words, names in said.items()}


def _who(names: Sequence[str], total: int = -1) -> str:
    if len(names) == total:
        return "all bores" if total > 1 else "the bore"
    shown = ", ".join(names[:3])
    return shown if len(names) <= 3 else f"{shown} and {len(names) - 3} more"


def _doubts(case: CaseResults) -> Iterable[str]:
    """What is to be said of the stations that a bore was made from."""
    return () if case.geometry is None else case.geometry.doubtful_stations


def _of_sound(case: CaseResults) -> list[str]:
    """What limits a case's resonances."""
    acoustics = case.acoustics
    if acoustics is None:
        return ["no resonance was computed"]
    if "sound" in case.unmeshed:
        return []
    limits = {
        "no resonance lies in the range": not case.resonances,
        acoustics.validity: acoustics.validity not in ("", "good"),
        acoustics.termination_note: bool(acoustics.termination_note),
        NOT_REDUCED: acoustics.reduced_basis.direct,
    }
    return [words for words, holds in limits.items() if holds]


def _flow(cases: Sequence[CaseResults]) -> Iterator[str]:
    rows = [(case, row) for case in cases for row in case.rates]
    for who in _said_of(cases, lambda case: () if case.rates else ("none",)).values():
        yield f"Flow, {who}: not computed."
    yield from _convergence(rows)
    pipe = max((case.flow.pipe_behind_mm for case in cases), default=0.0)
    if pipe:
        yield (
            f"The flow goes on behind the shank through a straight pipe of {pipe:g} mm, in "
            "which pressure is recovered: pressure drops are to the end of that pipe."
        )
    yield from _transitions(rows)
    yield from _outside(cases)
    tolerance = max((case.flow.tolerance or 0.0 for case in cases), default=0.0)
    yield from _tolerance(rows, tolerance)
    yield from _walls(rows)
    yield from _balances(rows)
    mach = max((row.mach_number for _, row in rows), default=0.0)
    if mach > MACH_WARNING:
        yield (
            f"The Mach number in the throat reaches {significant(mach, 2)}: constant density is "
            "then 1 to 3 % from the truth."
        )
    warned = {str(text) for case in cases for text in case.flow.warnings}
    yield from (f"Flow: {text.rstrip('.')}." for text in sorted(warned))


def _transitions(rows: Sequence[Row]) -> Iterator[str]:
    """From which rate on the flow turns turbulent within a bore, and what that rests on."""
    turning = [
        row
        for _, row in rows
        if row.figures is not None and row.figures.transition_position_mm is not None
    ]
    if turning:
        softest = min(turning, key=lambda row: row.flow_rate_L_per_s)
        yield (
            f"From {rate_text(softest)} on the flow turns turbulent within at least one bore. The "
            "place follows a rule and is no result of the equations; what an error of it is worth "
            "is part of the model error."
        )


def _outside(cases: Sequence[CaseResults]) -> Iterator[str]:
    """Where a bore or a rate lies outside what was measured."""
    said: dict[str, dict[str, None]] = {}
    for case in cases:
        for row in case.rates:
            for words in () if row.model_error is None else row.model_error.words:
                said.setdefault(words, {})[case.called] = None
    for words, names in said.items():
        yield f"Outside the measurements, {_who(list(names), len(cases))}: {words.rstrip('.')}."


def _solved(rows: Sequence[Row], solution: str = ESTIMATE) -> dict[str, FlowAtRate]:
    """A solution's figures where it converged, by case and flow rate in words."""
    return {
        _name(case, row): figures for case, row in rows if (figures := row.of(solution)) is not None
    }


def _name(case: CaseResults, row: EstimatedRate) -> str:
    return f"{case.called} at {row.flow_rate_L_per_s:g} L/s"


def _convergence(rows: Sequence[Row]) -> Iterator[str]:
    """How many solutions of each kind were sought, which of them were not reached."""
    for word in SOLUTIONS:
        sought = {
            _name(case, row): row.of(word)
            for case, row in rows
            if word not in case.flow.not_meshed and row.sought(word) is not None
        }
        lost = [name for name, found in sought.items() if found is None]
        if lost:
            yield (
                f"{len(lost)} of {len(sought)} solutions of the {CALLED[word]} did not converge "
                f"and have no number: {_who(lost)}."
            )
        elif sought:
            yield (
                f"Every solution of the {CALLED[word]} converged, {len(sought)} of {len(sought)} "
                "(bores times flow rates)."
            )


def _tolerance(rows: Sequence[Row], tolerance: float) -> Iterator[str]:
    """Where the mesh leaves more uncertainty than was asked for."""
    solved = _solved(rows)
    large = [name for name, found in solved.items() if found.tolerance_reached is False]
    if large:
        yield (
            f"The numerical uncertainty of the pressure drop is above the {100 * tolerance:g} % "
            f"asked for in {len(large)} of {len(solved)} solutions "
            f"({_who(large)}): a finer mesh (mesh.resolution of the study) would say more."
        )


def _walls(rows: Sequence[Row]) -> Iterator[str]:
    """Where the first cell of the mesh along the wall is too high for turbulent flow."""
    coarse = {
        name: found.y_plus or 0.0
        for name, found in _solved(rows).items()
        if found.wall_resolution == TOO_COARSE
    }
    if coarse:
        yield (
            f"{capital(TOO_COARSE)} in {len(coarse)} solutions ({_who(list(coarse))}): "
            "the first cell of the boundary-layer mesh reaches "
            f"{significant(max(coarse.values()), 2)} wall units from the wall, and the friction "
            "there is less well known than the numerical uncertainty says."
        )


def _balances(rows: Sequence[Row]) -> Iterator[str]:
    """Where mass or mechanical energy does not add up."""
    shown = _solved(rows).values()
    open_ = [(abs(one.mass_balance or 0.0), MASS_LIMIT, "mass") for one in shown]
    open_ += [
        (abs(one.energy_balance or 0.0), energy_limit(one), "mechanical energy") for one in shown
    ]
    beyond = {words: (share, limit) for share, limit, words in sorted(open_) if share > limit}
    for words, (share, limit) in beyond.items():
        yield (
            f"The balance of {words} does not close: {significant(100 * share, 2)} % at worst, "
            f"where {100 * limit:g} % is allowed."
        )
    fluxes = [one.section_mass_flux or 0.0 for one in shown if _share(one) > SECTION_SHARE]
    if fluxes:
        yield (
            f"Between sections the mass of the flow is off by up to "
            f"{significant(100 * max(fluxes), 2)} %, which may move a pressure by more than a "
            "tenth of its numerical uncertainty: a finer mesh (mesh.resolution of the study) "
            "would say more."
        )


def _share(figures: FlowAtRate) -> float:
    """What the mass between sections may move a pressure by, over the drop's uncertainty."""
    error = figures.pressure_drop and figures.pressure_drop.uncertainty
    flux, dynamic = figures.section_mass_flux, figures.dynamic_pressure_Pa
    return 2 * (flux or 0.0) * (dynamic or 0.0) / error if error else 0.0
