"""What limits a study's answers, one plain sentence each."""

from collections.abc import Sequence

from borestudy.compare.changes import LAMINAR
from borestudy.compare.results import CaseResults
from borestudy.compare.rounding import significant

MASS_LIMIT, ENERGY_LIMIT = 1e-6, 0.01
MACH_WARNING = 0.2


def validity_sentences(cases: Sequence[CaseResults]) -> list[str]:
    """Everything the results themselves say of where they stop being good."""
    return [*_sound(cases), *_flow(cases)]


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
    lost = [f"{case.name} at {row['flow_rate_L_per_s']:g} L/s"
            for case, row in rows if not row["converged"]]  # fmt: skip
    if lost:
        sentences.append(
            f"{len(lost)} of {len(rows)} flow solutions did not converge and have no number: "
            f"{_who(lost, -1)}."
        )
    elif rows:
        sentences.append(
            f"Every flow solution converged, {len(rows)} of {len(rows)} (cases times flow rates)."
        )
    pipes = [case.flow.get("pipe_behind_mm") for case in cases if case.flow.get("pipe_behind_mm")]
    if pipes:
        sentences.append(
            f"The flow goes on behind the shank through a straight pipe of {pipes[0]:g} mm, in "
            "which pressure is recovered: pressure drops are to the end of that pipe, while the "
            "handbooks' spans have no friction in it."
        )
    beyond = sorted({row["flow_rate_L_per_s"] for _, row in rows if row["regime"] != LAMINAR})
    if beyond:
        sentences.append(
            f"From {significant(beyond[0])} L/s on the throat Reynolds number passes 2000 in at "
            "least one case: the flow is then no longer surely laminar, the computed pressure drop "
            "is that of an ideal laminar flow, and the low and the high value are what to reckon "
            "with."
        )
    solved = [(case, row) for case, row in rows if row["converged"]]
    # beyond the laminar range the span is the answer, and no mesh narrows it
    laminar = [(case, row) for case, row in solved if row["regime"] == LAMINAR]
    large = [
        f"{case.name} at {row['flow_rate_L_per_s']:g} L/s"
        for case, row in laminar
        if row.get("tolerance_reached") is False
    ]
    if large:
        wanted = max(case.flow.get("tolerance") or 0.0 for case in cases)
        sentences.append(
            f"The numerical uncertainty of the pressure drop is above the {100 * wanted:g} % "
            f"asked for in {len(large)} of {len(laminar)} laminar solutions, on the finest mesh "
            f"too ({_who(large, -1)}): a finer mesh.resolution would say more."
        )
    for key, limit, words in (
        ("mass_balance", MASS_LIMIT, "mass"),
        ("energy_balance", ENERGY_LIMIT, "mechanical energy"),
    ):
        worst = max((abs(row.get(key) or 0.0) for _, row in solved), default=0.0)
        if worst > limit:
            sentences.append(
                f"The balance of {words} does not close: {significant(100 * worst, 2)} % at worst, "
                f"where {100 * limit:g} % is allowed."
            )
    mach = max((row.get("mach_number") or 0.0 for _, row in rows), default=0.0)
    if mach > MACH_WARNING:
        sentences.append(
            f"The Mach number in the throat reaches {significant(mach, 2)}: constant density is "
            "then 1 to 3 % from the truth."
        )
    warned = {str(text) for case in cases for text in case.flow.get("warnings", [])}
    return sentences + [f"Flow: {text.rstrip('.')}." for text in sorted(warned)]
