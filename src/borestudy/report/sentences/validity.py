"""What limits a study's answers, one plain sentence each."""

from collections.abc import Sequence

from borestudy.flow.regime import REFINED_TO
from borestudy.flow.result import FlowAtRate
from borestudy.flow.rows import ENERGY_LIMIT
from borestudy.report.sentences.words import capital
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import REFUSED, SOLUTIONS, KnownRate, MergedRate
from borestudy.results.spans import LAMINAR, TURBULENT
from borestudy.rounding import significant

#: Of the flow out against the flow in: the discrete continuity adds up to it exactly, so
#: that rounding is all it may be off by (1e-14 was seen).
MASS_LIMIT = 1e-9
#: Through a section between, the flow is off by what the mesh leaves, like any other figure.  An
#: error δ of it moves a pressure there by 2 δ q, which is to be within this share of the numerical
#: uncertainty of the pressure drop, so that the latter need not allow for it.
SECTION_SHARE = 0.1
MACH_WARNING = 0.2
TOO_COARSE = "y+ too large"
Row = tuple[CaseResults, MergedRate]


def validity_sentences(cases: Sequence[CaseResults]) -> list[str]:
    """Everything the results themselves say of where they stop being good."""
    return [*_unmeshed(cases), *_stations(cases), *_sound(cases), *_flow(cases)]


def _unmeshed(cases: Sequence[CaseResults]) -> list[str]:
    """Which cases have no mesh for something, and why."""
    return [
        f"{case.name} has no mesh for {physics}, and no number that needs one: {reason}."
        for case in cases
        for physics, reason in case.unmeshed.items()
    ]


def _stations(cases: Sequence[CaseResults]) -> list[str]:
    said: dict[str, list[str]] = {}
    for case in cases:
        for doubt in () if case.geometry is None else case.geometry.doubtful_stations:
            said.setdefault(doubt, []).append(case.name)
    return [
        f"Stations of {_who(names, len(cases))}: {doubt}; taken as it is."
        for doubt, names in said.items()
    ]


def _who(names: Sequence[str], total: int) -> str:
    if len(names) == total:
        return "all cases" if total > 1 else "the bore"
    shown = ", ".join(names[:3])
    return shown if len(names) <= 3 else f"{shown} and {len(names) - 3} more"


def _sound(cases: Sequence[CaseResults]) -> list[str]:
    said: dict[str, list[str]] = {}
    for case in cases:
        acoustics = case.acoustics
        if acoustics is None:
            said.setdefault("no resonance was computed", []).append(case.name)
            continue
        if "sound" in case.unmeshed:
            continue
        if not case.resonances:
            said.setdefault("no resonance lies in the range", []).append(case.name)
        for words in (acoustics.validity, acoustics.termination_note):
            if words and words != "good":
                said.setdefault(words, []).append(case.name)
        if acoustics.reduced_basis.get("direct"):
            said.setdefault(
                "the reduced basis did not reach its tolerance, so every frequency was solved "
                "directly",
                [],
            ).append(case.name)
    return [f"Resonance, {_who(names, len(cases))}: {words}." for words, names in said.items()]


def _flow(cases: Sequence[CaseResults]) -> list[str]:
    sentences: list[str] = []
    without = [case.name for case in cases if not case.rates]
    if without:
        sentences.append(f"Flow, {_who(without, len(cases))}: not computed.")
    rows = [(case, row) for case in cases for row in case.rates]
    sentences += _convergence(rows)
    pipes = [case.flow.pipe_behind_mm for case in cases if case.flow.pipe_behind_mm]
    if pipes:
        sentences.append(
            f"The flow goes on behind the shank through a straight pipe of {pipes[0]:g} mm, in "
            "which pressure is recovered: pressure drops are to the end of that pipe."
        )
    beyond = sorted({row.flow_rate_L_per_s for _, row in rows if row.regime != LAMINAR})
    if beyond:
        sentences.append(
            f"From {significant(beyond[0])} L/s on the throat Reynolds number passes 2000 in at "
            "least one case: the flow is then no longer surely laminar, and each computed pressure "
            "drop is that of an ideal, either wholly laminar or wholly turbulent flow. The low and "
            "the high value are what to reckon with."
        )
    sentences += _tolerance(cases, rows)
    sentences += _walls(rows)
    figures = {
        word: [found for _, row in rows if (found := row.of(word)) is not None]
        for word in SOLUTIONS
    }
    shown = [found for _, row in rows if (found := row.figures) is not None]
    for name, limit, words in (
        ("mass_balance", MASS_LIMIT, "mass"),
        ("energy_balance", ENERGY_LIMIT, "mechanical energy"),
    ):
        worst = max((abs(getattr(found, name) or 0.0) for found in shown), default=0.0)
        if worst > limit:
            sentences.append(
                f"The balance of {words} does not close: {significant(100 * worst, 2)} % at worst, "
                f"where {100 * limit:g} % is allowed."
            )
    for word, listed in figures.items():
        fluxes = [
            found.section_mass_flux or 0.0
            for found in listed
            if section_share(found) > SECTION_SHARE
        ]
        if fluxes:
            sentences.append(
                f"Between sections the mass of the {word} flow is off by up to "
                f"{significant(100 * max(fluxes), 2)} %, which may move a pressure by more than a "
                "tenth of its numerical uncertainty: a finer mesh.resolution would say more."
            )
    mach = max((row.mach_number for _, row in rows), default=0.0)
    if mach > MACH_WARNING:
        sentences.append(
            f"The Mach number in the throat reaches {significant(mach, 2)}: constant density is "
            "then 1 to 3 % from the truth."
        )
    warned = {str(text) for case in cases for text in case.flow.warnings}
    return sentences + [f"Flow: {text.rstrip('.')}." for text in sorted(warned)]


def section_share(figures: FlowAtRate) -> float:
    """What the mass between sections may move a pressure by, over the drop's uncertainty."""
    error = figures.pressure_drop and figures.pressure_drop.uncertainty
    flux, dynamic = figures.section_mass_flux, figures.dynamic_pressure_Pa
    return 2 * (flux or 0.0) * (dynamic or 0.0) / error if error else 0.0


def _name(case: CaseResults, row: KnownRate) -> str:
    return f"{case.name} at {row.flow_rate_L_per_s:g} L/s"


def _convergence(rows: Sequence[Row]) -> list[str]:
    """How many solutions of each kind were sought, which of them were not reached."""
    sentences = []
    for word in SOLUTIONS:
        meshed = [(case, row) for case, row in rows if f"{word} flow" not in case.unmeshed]
        sought = [(case, row) for case, row in meshed if row.sought(word) is not None]
        lost = [_name(case, row) for case, row in sought if row.of(word) is None]
        if lost:
            sentences.append(
                f"{len(lost)} of {len(sought)} {word} flow solutions did not converge and have no "
                f"number: {_who(lost, -1)}."
            )
        elif sought:
            sentences.append(
                f"Every {word} flow solution converged, {len(sought)} of {len(sought)} (cases "
                "times flow rates)."
            )
    refused = [_name(case, row) for case, row in rows if row.note == REFUSED]
    if refused:
        sentences.append(f"{capital(REFUSED)} ({_who(refused, -1)}).")
    return sentences


def _tolerance(cases: Sequence[CaseResults], rows: Sequence[Row]) -> list[str]:
    """Where the mesh leaves more uncertainty than was asked for, and that is what decides."""
    # where the laminar solution is one end of a wide span, its mesh is not what decides
    slow = [(case, row) for case, row in rows if row.throat_reynolds <= REFINED_TO]
    computed = {LAMINAR: slow, TURBULENT: rows}
    sentences = []
    for word, listed in computed.items():
        solved = [
            (_name(case, row), figures)
            for case, row in listed
            if (figures := row.of(word)) is not None
        ]
        large = [name for name, figures in solved if figures.tolerance_reached is False]
        if large:
            wanted = max(case.flow.tolerance or 0.0 for case in cases)
            sentences.append(
                f"The numerical uncertainty of the pressure drop is above the {100 * wanted:g} % "
                f"asked for in {len(large)} of {len(solved)} {word} solutions "
                f"({_who(large, -1)}): a finer mesh.resolution would say more."
            )
    return sentences


def _walls(rows: Sequence[Row]) -> list[str]:
    """Where the first row of the turbulent solution's mesh is too far from the wall."""
    coarse = [
        (_name(case, row), figures.y_plus or 0.0)
        for case, row in rows
        if (figures := row.of(TURBULENT)) is not None and figures.wall_resolution == TOO_COARSE
    ]
    if not coarse:
        return []
    worst = max(y_plus for _, y_plus in coarse)
    return [
        f"{capital(TOO_COARSE)} in {len(coarse)} turbulent solutions "
        f"({_who([name for name, _ in coarse], -1)}): the mesh's first row is up to "
        f"{significant(worst, 2)} wall units from the wall, and the friction there is less well "
        "known than the numerical uncertainty says."
    ]
