"""What became of a wish, in sentences: met or not, what stands in the way, what it leaves open."""

from collections.abc import Mapping

from borestudy.quantity import spelled
from borestudy.report.effects import signed
from borestudy.report.sentences.words import listed
from borestudy.results.wishes import (
    MET_UNSURELY,
    NOT_MET_UNSURELY,
    FreeRange,
    InTheWay,
    NewDimension,
    NewQuantity,
    ReturnedBore,
    SolvedBore,
    WishedFor,
    WishResult,
)
from borestudy.rounding import in_short, significant

#: What more and less of a dimension is, by the last words of its label.
MORE = {
    "diameter": ("wider", "narrower"),
    "depth": ("deeper", "less deep"),
    "length": ("longer", "shorter"),
    "radius": ("larger", "smaller"),
    "height": ("higher", "lower"),
    "shape": ("fuller", "straighter"),
    "taper": ("earlier opening", "later opening"),
}
#: Millimetres of an inch.
INCH = 25.4


def wish_sentences(found: WishResult) -> list[str]:
    """What is told of a wish: the best bore first, then what stands in the way and what is open."""
    if not found.returned:
        return [f"The wish has no answer: {found.stopped}."]
    best, *others = found.returned
    wishes = listed([wanted_text(one) for one in found.wished])
    sentences = [_headline(best, found, f"wish ({wishes})"), *_in_the_way(best, found)]
    if (place := _off_sizes(found)) is not None:
        sizes = [_any_size(one, found.path[place].dimensions[one.key]) for one in found.free]
        sentences.append(f"Off the tool sizes it is met, as by solve {place + 1}: {listed(sizes)}.")
    for other in others:
        sentences.append(
            f"{other.name.capitalize()} comes next, with {_told(other)}: "
            f"{'it meets the wish too' if other.met else _missed(other)}."
        )
    sentences += [_open(one.changes, found) for one in found.undetermined]
    if not found.undetermined:
        sure = [one for one in found.free if one.determined_within]
        if sure:
            told = listed(
                [f"the {one.label} to {_size(one.determined_within or 0.0, one.unit)}"
                 for one in sure])  # fmt: skip
            sentences.append(f"The wish determines {told}, as far as its tolerances leave open.")
    if found.existing:
        sentences.append(
            "The bore exists already: the wall of every bore here lies nowhere inside the present "
            "one, so that nothing but cutting is needed."
        )
    return sentences


def wish_answer(found: WishResult) -> str:
    """What became of a wish, without the words of the wish, before answers on the present bore."""
    if not found.returned:
        return wish_sentences(found)[0]
    told = _headline(found.returned[0], found, "wish")
    return f"{told} What follows is of the bore as it is now."


def wish_work(found: WishResult) -> str:
    """How many bores were solved, and why no more."""
    if not found.path:
        return ""
    bores = len({tuple(sorted(one.dimensions.items())) for one in found.path})
    former = f", {found.reused} of them by an earlier run" if found.reused else ""
    return (
        f"{len(found.path)} solves of {bores} bores{former}, each on its own meshes; the search "
        f"without tool sizes ended since {found.stopped}."
    )


def wanted_text(wish: WishedFor) -> str:
    """What is wished of a quantity: ``the resonance +15 cents``."""
    if wish.kind == "keep":
        return f"the {wish.quantity} kept {_within(wish)}"
    if wish.kind == "reach":
        return f"the {wish.quantity} {significant(wish.target)} {spelled(wish.unit)}".strip()
    return f"the {wish.quantity} {signed(wish.target, 4)} {spelled(wish.scale)}"


def dimension_text(one: NewDimension) -> str:
    """A dimension of a returned bore as it is told to the shop, with its tool or in inches."""
    if one.unit != "mm":
        return f"{one.label} {significant(one.value, 3)}"
    size = f"{one.value:.3f} mm"
    if one.tool is not None and one.tool.startswith("drill"):
        return f"{one.label} {one.tool} ({size})"
    return f"{one.label} {size} ({one.value / INCH:.4f} in)"


def _within(wish: WishedFor) -> str:
    return f"within {significant(wish.within)} {spelled(wish.scale)}"


def _headline(best: ReturnedBore, found: WishResult, wish: str) -> str:
    """What became of a wish, which is called so."""
    if best.met:
        unsure = [f"the {one.quantity}" for one in best.quantities if one.verdict == MET_UNSURELY]
        doubt = f"; for {listed(unsure)} the uncertainty could turn that round" if unsure else ""
        return f"The {wish} is met with {_told(best)}{doubt}."
    if best.may_meet:
        return (
            f"Whether the {wish} is met cannot be told: what the bore that comes nearest "
            f"misses is less than the uncertainty. It has {_told(best)}: {_missed(best)}."
        )
    limits = "on its tool sizes" if _off_sizes(found) else "within its limits"
    return (
        f"The {wish} cannot be met {limits}. The bore that comes nearest has "
        f"{_told(best)}: {_missed(best)}."
    )


def _off_sizes(found: WishResult) -> int | None:
    """Place of the first solve off the tool sizes that meets a wish that none on them meets."""
    if found.met:
        return None
    for place, solved in enumerate(found.path):
        if not solved.tool_sizes and _is_met(solved, found):
            return place
    return None


def _is_met(solved: SolvedBore, found: WishResult) -> bool:
    """Whether every wished figure of a solve is as near as is wished."""
    for one in found.wished:
        value = solved.figures.get(one.quantity)
        if value is None or abs(value - found.targets[one.quantity]) > one.within:
            return False
    return True


def _told(bore: ReturnedBore) -> str:
    return listed([dimension_text(one) for one in bore.dimensions])


def _missed(bore: ReturnedBore) -> str:
    """Which wishes a bore does not meet, and by how much."""
    missed = [one for one in bore.quantities if one.wish and not one.verdict.startswith("met")]
    return listed([_miss(one) for one in missed])


def _miss(one: NewQuantity) -> str:
    if one.miss is None:
        return f"the {one.quantity} has no number"
    unit = spelled(one.scale)
    off = in_short(abs(one.miss), one.miss_uncertainty, unit)
    side = "above" if one.miss > 0 else "below"
    unsure = ", within the uncertainty" if one.verdict == NOT_MET_UNSURELY else ""
    aim = "what it was" if one.wish.startswith("within") else "what is wished"
    return f"the {one.quantity} is {off} {side} {aim}{unsure}"


def _in_the_way(bore: ReturnedBore, found: WishResult) -> list[str]:
    told = [_obstacle(one, found) for one in bore.in_the_way]
    return [f"In the way: {'; '.join(told)}."] if told else []


def _obstacle(one: InTheWay, found: WishResult) -> str:
    free = {each.key: each for each in found.free}
    if one.kind in ("low", "high"):
        dimension = free[one.names[0]]
        side = "lower" if one.kind == "low" else "upper"
        at = _size(one.at or 0.0, dimension.unit)
        return f"the {dimension.label} is at its {side} limit, {at}"
    if one.kind == "wall":
        at = "" if one.at is None else f" about {significant(one.at, 3)} mm from the rim plane"
        return f"metal would have to be put back{at}"
    if one.kind == "kept":
        return f"the {one.names[0]} must be kept, and is at its bound"
    first, second = one.names
    return f"the wishes for the {first} and for the {second} pull against one another"


def _open(changes: Mapping[str, float], found: WishResult) -> str:
    """A combination that does nothing to what is wished."""
    free = {one.key: one for one in found.free}
    leading = max(changes, key=lambda key: abs(changes[key]))
    sign = 1 if changes[leading] > 0 else -1
    parts = {key: sign * value for key, value in changes.items()}
    first = free[leading]
    if len(parts) == 1:
        return f"The wish does not determine the {first.label}, which does nothing to it."
    others = [_moved(free[key], value) for key, value in parts.items() if key != leading]
    more = _comparative(first, parts[leading])
    by = _size(abs(parts[leading]), first.unit)
    return (
        f"The wish does not determine the {first.label}: {by} {more} with "
        f"{listed(others)} does the same."
    )


def _moved(one: FreeRange, value: float) -> str:
    return f"the {one.label} {_size(abs(value), one.unit)} {_comparative(one, value)}"


def _comparative(one: FreeRange, value: float) -> str:
    words = MORE.get(one.label.split(" ")[-1], ("more", "less"))
    return words[0] if value > 0 else words[1]


def _any_size(one: FreeRange, value: float) -> str:
    """A dimension of a solve off the tool sizes."""
    return dimension_text(NewDimension(key=one.key, label=one.label, unit=one.unit, value=value,
                                       change=value - one.start))  # fmt: skip


def _size(value: float, unit: str) -> str:
    return f"{significant(value, 3)} {unit}".strip()
