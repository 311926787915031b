"""What became of a wish: every bore that was solved for it, and those that come nearest."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import hypot

from borestudy.provenance import Provenance

MET, NOT_MET = "met", "not met"
#: The same where the uncertainty could turn it round.
MET_UNSURELY, NOT_MET_UNSURELY = "met, within the uncertainty", "not met, within the uncertainty"
NO_NUMBER = "no number"


@dataclass(frozen=True, kw_only=True)
class WishedFor:
    """What is wished of one quantity.

    Attributes
    ----------
    quantity : str
        A name of `borestudy.results.reported`.
    kind : {"change", "reach", "keep"}
    written : str
        What the study says.
    target : float
        The change wanted, in `scale`; the value wanted, in `unit`; 0 for what is kept.
    within : float
        How near, in `scale`.
    scale : {"cents", "percent"}
    unit : str
        Of the value.
    """

    quantity: str
    kind: str
    written: str
    target: float
    within: float
    scale: str
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class FreeRange:
    """A dimension that may move: its words, unit, start and limits in that unit, and tool sizes."""

    key: str
    label: str
    unit: str
    start: float
    low: float
    high: float
    sizes: str = "any"
    #: How far it may be off while no wish leaves its tolerance; None where it is not determined.
    determined_within: float | None = None


@dataclass(frozen=True, kw_only=True)
class NewDimension:
    """A dimension of a returned bore, in its unit, with the tool of its size if it has one."""

    key: str
    label: str
    unit: str
    value: float
    change: float
    tool: str | None = None


@dataclass(frozen=True, kw_only=True)
class NewQuantity:
    """A quantity of a returned bore against the bore that the search began with.

    Attributes
    ----------
    quantity : str
    before, after : float
        Values, in `unit`.
    change, numerical, model : float or None
        Change with its numerical uncertainty and its model error, in `scale`.
    unit, scale : str
    wish : str
        What is wished of it, as the study says; empty for what changes beside.
    miss : float or None
        How far it is from what is wished, in `scale`, and the uncertainty of that.
    verdict : str
        ``met`` and the like; empty where nothing is wished.
    """

    quantity: str
    before: float | None
    after: float | None
    after_uncertainty: float | None
    change: float | None
    numerical: float | None
    model: float = 0.0
    unit: str = ""
    scale: str = "percent"
    wish: str = ""
    miss: float | None = None
    miss_uncertainty: float | None = None
    within: float | None = None
    verdict: str = ""

    @property
    def uncertainty(self) -> float | None:
        """Both errors of the change together."""
        return None if self.numerical is None else hypot(self.numerical, self.model)


@dataclass(frozen=True, kw_only=True)
class InTheWay:
    """What stands in the way: see `borestudy.optimisation.findings.Hindrance`.

    `names` are of the dimension or the quantities; `at` is the limit, or the place along the axis
    [mm] of a wall.
    """

    kind: str
    names: tuple[str, ...]
    worth: float
    at: float | None = None


@dataclass(frozen=True, kw_only=True)
class ReturnedBore:
    """A bore that comes near to the wish, solved on its own mesh."""

    name: str
    solve: int
    met: bool
    misfit: float
    dimensions: tuple[NewDimension, ...]
    quantities: tuple[NewQuantity, ...]
    in_the_way: tuple[InTheWay, ...] = ()

    @property
    def may_meet(self) -> bool:
        """Whether all that it misses of the wish is less than the uncertainty of that."""
        missed = {one.verdict for one in self.quantities if one.wish} - {MET, MET_UNSURELY}
        return missed == {NOT_MET_UNSURELY}


@dataclass(frozen=True, kw_only=True)
class SolvedBore:
    """One solve of the search: its dimensions by key, and its wished quantities.

    `figures` are changes against the start, in each quantity's scale, by its name.
    """

    dimensions: Mapping[str, float]
    figures: Mapping[str, float | None]
    misfit: float | None
    tool_sizes: tuple[str, ...] = ()
    all_rates: bool = False


@dataclass(frozen=True, kw_only=True)
class Combination:
    """Changes of dimensions, by key and in their units, that do nothing to what is wished."""

    changes: Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class WishResult:
    """What became of a wish.

    Attributes
    ----------
    wished : tuple of WishedFor
    free : tuple of FreeRange
    existing : bool
        Whether the bore exists already.
    path : tuple of SolvedBore
        Every solve; the first is of the bore that there is.
    returned : tuple of ReturnedBore
        The bores that come nearest, best first; none where there is none.
    undetermined : tuple of Combination
    targets : mapping of str to float
        Where each wished quantity shall go, as a change from the start in its scale.
    stopped : str
        Why no further bore was solved; or why there is none at all.
    reused : int
        How many solves are of a former run.
    """

    wished: tuple[WishedFor, ...]
    free: tuple[FreeRange, ...]
    existing: bool = False
    path: tuple[SolvedBore, ...] = ()
    returned: tuple[ReturnedBore, ...] = ()
    undetermined: tuple[Combination, ...] = ()
    targets: Mapping[str, float] = field(default_factory=dict)
    stopped: str = ""
    reused: int = 0
    provenance: Provenance | None = None

    @property
    def met(self) -> bool:
        """Whether the best bore meets the wish."""
        return bool(self.returned) and self.returned[0].met


def verdict(miss: float | None, uncertainty: float | None, within: float) -> str:
    """Whether what is wished is met, and whether the uncertainty could turn that round."""
    if miss is None:
        return NO_NUMBER
    met, sure = abs(miss) <= within, abs(abs(miss) - within) > (uncertainty or 0.0)
    if met:
        return MET if sure else MET_UNSURELY
    return NOT_MET if sure else NOT_MET_UNSURELY
