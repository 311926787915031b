"""What limits a study's answers, one plain sentence each."""

from collections.abc import Sequence

from borestudy.flow.regime import REFINED_TO
from borestudy.flow.rows import ENERGY_LIMIT
from borestudy.report.sentences.words import capital
from borestudy.results.case import CaseResults
from borestudy.results.merged_flow import (
    LAMINAR,
    REFUSED,
    SOLUTIONS,
    TURBULENT,
    Row,
    solution_row,
)
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
        for doubt in case.geometry.get("doubtful_stations", []):
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
        if not acoustics:
            said.setdefault("no resonance was computed", []).append(case.name)
            continue
        if "sound" in case.unmeshed:
            continue
        if not case.resonances:
            said.setdefault("no resonance lies in the range", []).append(case.name)
        for words in (acoustics.get("validity", "good"), acoustics.get("termination_note", "")):
            if words and words != "good":
                said.setdefault(words, []).append(case.name)
        if acoustics.get("reduced_basis", {}).get("direct"):
            said.setdefault(
                "the reduced basis did not reach its tolerance, so every frequency was solved "
                "directly",
                [],
            ).append(case.name)
    return [f"Resonance, {_who(names, len(cases))}: {words}." for words, names in said.items()]


def _flow(cases: Sequence[CaseResults]) -> list[str]:
    sentences: list[str] = []
    without = [case.name for case in cases if not case.flow]
    if without:
        sentences.append(f"Flow, {_who(without, len(cases))}: not computed.")
    rows = [(case, row) for case in cases for row in case.flow.get("rates", [])]
    sentences += _convergence(rows)
    pipes = [case.flow.get("pipe_behind_mm") for case in cases if case.flow.get("pipe_behind_mm")]
    if pipes:
        sentences.append(
            f"The flow goes on behind the shank through a straight pipe of {pipes[0]:g} mm, in "
            "which pressure is recovered: pressure drops are to the end of that pipe."
        )
    beyond = sorted({row["flow_rate_L_per_s"] for _, row in rows if row["regime"] != LAMINAR})
    if beyond:
        sentences.append(
            f"From {significant(beyond[0])} L/s on the throat Reynolds number passes 2000 in at "
            "least one case: the flow is then no longer surely laminar, and each computed pressure "
            "drop is that of an ideal, either wholly laminar or wholly turbulent flow. The low and "
            "the high value are what to reckon with."
        )
    solved = [(case, row) for case, row in rows if row["converged"]]
    sentences += _tolerance(cases, rows)
    sentences += _walls(rows)
    found = [row for _, row in solved]
    laminar, turbulent = ([solution_row(row, word) for row in found] for word in SOLUTIONS)
    for key, listed, limit, words in (
        ("mass_balance", found, MASS_LIMIT, "mass"),
        ("energy_balance", found, ENERGY_LIMIT, "mechanical energy"),
    ):
        worst = max((abs(row.get(key) or 0.0) for row in listed), default=0.0)
        if worst > limit:
            sentences.append(
                f"The balance of {words} does not close: {significant(100 * worst, 2)} % at worst, "
                f"where {100 * limit:g} % is allowed."
            )
    for word, listed in ((LAMINAR, laminar), (TURBULENT, turbulent)):
        beyond_share = [row for row in listed if section_share(row) > SECTION_SHARE]
        if beyond_share:
            worst = max(row["section_mass_flux"] for row in beyond_share)
            sentences.append(
                f"Between sections the mass of the {word} flow is off by up to "
                f"{significant(100 * worst, 2)} %, which may move a pressure by more than a tenth "
                "of its numerical uncertainty: a finer mesh.resolution would say more."
            )
    mach = max((row.get("mach_number") or 0.0 for _, row in rows), default=0.0)
    if mach > MACH_WARNING:
        sentences.append(
            f"The Mach number in the throat reaches {significant(mach, 2)}: constant density is "
            "then 1 to 3 % from the truth."
        )
    warned = {str(text) for case in cases for text in case.flow.get("warnings", [])}
    return sentences + [f"Flow: {text.rstrip('.')}." for text in sorted(warned)]


def section_share(row: Row) -> float:
    """What the mass between sections may move a pressure by, over the drop's uncertainty."""
    error = row.get("pressure_drop_Pa_uncertainty")
    if not error:
        return 0.0
    return float(2 * (row.get("section_mass_flux") or 0.0) * row["dynamic_pressure_Pa"] / error)


def _name(case: CaseResults, row: Row) -> str:
    return f"{case.name} at {row['flow_rate_L_per_s']:g} L/s"


def _convergence(rows: Sequence[tuple[CaseResults, Row]]) -> list[str]:
    """How many solutions of each kind were sought, which of them were not reached."""
    sentences = []
    for word in SOLUTIONS:
        meshed = [(case, row) for case, row in rows if f"{word} flow" not in case.unmeshed]
        sought = [(case, row) for case, row in meshed if row.get(f"{word}_converged") is not None]
        lost = [_name(case, row) for case, row in sought if not row[f"{word}_converged"]]
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
    refused = [_name(case, row) for case, row in rows if row.get("span_note") == REFUSED]
    if refused:
        sentences.append(f"{capital(REFUSED)} ({_who(refused, -1)}).")
    return sentences


def _tolerance(cases: Sequence[CaseResults], rows: Sequence[tuple[CaseResults, Row]]) -> list[str]:
    """Where the mesh leaves more uncertainty than was asked for, and that is what decides."""
    # where the laminar solution is one end of a wide span, its mesh is not what decides
    slow = [(case, row) for case, row in rows if row["throat_reynolds"] <= REFINED_TO]
    computed = {LAMINAR: slow, TURBULENT: rows}
    sentences = []
    for word, listed in computed.items():
        found = [(case, solution_row(row, word)) for case, row in listed]
        solved = [(case, row) for case, row in found if row]
        large = [_name(*pair) for pair in solved if pair[1].get("tolerance_reached") is False]
        if large:
            wanted = max(case.flow.get("tolerance") or 0.0 for case in cases)
            sentences.append(
                f"The numerical uncertainty of the pressure drop is above the {100 * wanted:g} % "
                f"asked for in {len(large)} of {len(solved)} {word} solutions "
                f"({_who(large, -1)}): a finer mesh.resolution would say more."
            )
    return sentences


def _walls(rows: Sequence[tuple[CaseResults, Row]]) -> list[str]:
    """Where the first row of the turbulent solution's mesh is too far from the wall."""
    found = [(case, solution_row(row, TURBULENT)) for case, row in rows]
    coarse = [pair for pair in found if pair[1].get("wall_resolution") == TOO_COARSE]
    if not coarse:
        return []
    worst = max(row["y_plus"] for _, row in coarse)
    return [
        f"{capital(TOO_COARSE)} in {len(coarse)} turbulent solutions "
        f"({_who([_name(*pair) for pair in coarse], -1)}): the mesh's first row is up to "
        f"{significant(worst, 2)} wall units from the wall, and the friction there is less well "
        "known than the numerical uncertainty says."
    ]
