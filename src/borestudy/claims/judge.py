"""Whether claims agree with what was computed, by how much they do not, and why not."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from borestudy.claim import Claim
from borestudy.claims.believed import Believed, believed
from borestudy.claims.bench import Bench
from borestudy.claims.flow import flow_trials
from borestudy.claims.slips import slip_trials
from borestudy.claims.sound import sound_trials
from borestudy.claims.trial import Trial

AGREES, DISAGREES = "agrees", "disagrees"
UNDECIDED = "cannot be decided within the uncertainty"


@dataclass(frozen=True)
class Judgement:
    """A claim with what is believed of its quantity.

    Attributes
    ----------
    claim : Claim
    found : Believed or str
        In the unit of results; in words why nothing is known.
    verdict : str
        `AGREES` where all that may be true is within the claim's tolerance, `DISAGREES` where
        nothing is, else `UNDECIDED`.
    causes : tuple of Trial
        Of a claim that disagrees, the causes by which its value comes out, the nearest first.
    """

    claim: Claim
    found: Believed | str
    verdict: str
    causes: tuple[Trial, ...] = ()

    @property
    def distance(self) -> float | None:
        """Claimed less computed value, in the unit of results."""
        return None if isinstance(self.found, str) else self.claim.value - self.found.value


def judge(claim: Claim, bench: Bench) -> Judgement:
    """Hold a claim against the case that it is about."""
    found = believed(claim, bench)
    verdict = verdict_of(claim, found)
    if verdict != DISAGREES or isinstance(found, str):
        return Judgement(claim, found, verdict)
    return Judgement(claim, found, verdict, tuple(causes(claim, trials(claim, bench, found))))


def verdict_of(claim: Claim, found: Believed | str) -> str:
    """The verdict from the interval of the claim and that of what may be true."""
    if isinstance(found, str):
        return UNDECIDED
    least, most = claim.value - claim.tolerance, claim.value + claim.tolerance
    if least <= found.low and found.high <= most:
        return AGREES
    return DISAGREES if found.high < least or most < found.low else UNDECIDED


def trials(claim: Claim, bench: Bench, found: Believed) -> Iterable[Trial]:
    """Every cause that is tried of a claim."""
    if not claim.is_change:
        yield from sound_trials(claim, bench)
        yield from flow_trials(claim, bench)
    yield from slip_trials(claim, bench, found)


def causes(claim: Claim, tried: Iterable[Trial]) -> Sequence[Trial]:
    """The causes by which a claimed value comes out, the nearest first, each cause once.

    The value by a cause must be within the claim's tolerance and the value's own error.
    """

    def distance(trial: Trial) -> float:
        return abs(claim.value - trial.value)

    fitting = [
        one
        for one in tried
        if math.isfinite(one.value) and distance(one) <= claim.tolerance + one.error
    ]
    nearest: dict[str, Trial] = {}
    for one in sorted(fitting, key=distance):
        nearest.setdefault(one.cause, one)
    return list(nearest.values())
