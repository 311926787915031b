"""Changes to a measured bore: which tools go into it, one after another.

Each change is made by a tool on the bore as the tool before has left it.  Whatever would add metal
is refused, with the key, the place and how much, unless a new piece is made after the measured one.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from borestudy.bore.bore import Bore
from borestudy.bore.cuts import bodies
from borestudy.bore.cuts.entries import LIMIT, ROUNDING, check_entry, with_entry
from borestudy.bore.cuts.wall import added_metal
from borestudy.bore.entry import ENTRY_SIZES, KEY, Entry
from borestudy.bore.errors import below, millimetres, refusal
from borestudy.bore.segment import Segment
from borestudy.bore.variation import Dimension, variation


@dataclass(frozen=True, kw_only=True)
class Changes:
    """What is changed in a measured bore; None where it stays as it was measured.

    Attributes
    ----------
    length, cup_diameter, end_diameter, throat_diameter, cup_depth, throat_length : float, optional
        Sizes [m], in the order in which the tools go into the bore.
    entry : Entry, optional
        Entry cut last, from the edge between cup and throat.
    new : bool
        Whether a new piece is made, so that metal may be added.
    """

    length: float | None = None
    cup_diameter: float | None = None
    end_diameter: float | None = None
    throat_diameter: float | None = None
    cup_depth: float | None = None
    throat_length: float | None = None
    entry: Entry | None = None
    new: bool = False


#: Each size of the changes by its name: its key, words, and what makes the bore with it.
BODIES: dict[str, tuple[str, str, Callable[[Bore, float], Bore]]] = {
    "length": ("length", "overall length", bodies.faced),
    "cup_diameter": ("cup.diameter", "rim diameter", bodies.with_rim),
    "end_diameter": ("backbore.end_diameter", "backbore end diameter", bodies.with_end),
    "throat_diameter": ("throat.diameter", "throat diameter", bodies.drilled),
    "cup_depth": ("cup.depth", "cup depth", bodies.with_depth),
    "throat_length": ("throat.length", "throat length", bodies.with_throat_length),
}
#: Sizes that join parts of a wall whose readings are off, where metal of a reading's error is none.
JOINING = ("cup_depth", "throat_length")


@dataclass(frozen=True)
class Step:
    """One tool: what it makes of a bore, its sizes [m], and each one's key and words."""

    make: Callable[[Bore, Sequence[float]], Bore]
    sizes: tuple[float, ...]
    names: tuple[tuple[str, str], ...]

    def __call__(self, bore: Bore) -> Bore:
        """The bore with the change."""
        return self.make(bore, self.sizes)


def changed(bore: Bore, changes: Changes) -> Bore:
    """The bore with the changes.

    Raises
    ------
    BoreError
        If a change does not fit, or adds metal to a piece that exists.
    """
    return _made(bore, steps_of(bore, changes))


def steps_of(bore: Bore, changes: Changes) -> list[Step]:
    """The tools in their order, each checked on the bore that it is put to.

    Raises
    ------
    BoreError
        If a change does not fit, or adds metal to a piece that exists.
    """
    steps: list[Step] = []
    for name, (key, label, make) in BODIES.items():
        size = getattr(changes, name)
        if size is not None:
            step = Step(_of_one(make), (size,), ((key, label),))
            before = _made(bore, steps)
            after = step(before)
            if not changes.new:
                _refuse_added(before, after, key, size, LIMIT if name in JOINING else ROUNDING)
            steps.append(step)
    if changes.entry is not None:
        steps.append(_entry_step(_made(bore, steps), changes.entry, new=changes.new))
    return steps


def _of_one(make: Callable[[Bore, float], Bore]) -> Callable[[Bore, Sequence[float]], Bore]:
    return lambda bore, sizes: make(bore, *sizes)


def _refuse_added(before: Bore, after: Bore, key: str, size: float, limit: float) -> None:
    """Refuse a change that adds more metal than a limit [m], by a `BoreError` of its key."""
    allowed = "is what only removes metal, or 'piece: new' in the study's bore"
    found = f"{millimetres(size)}, which would add metal"
    if after.length > before.length + limit:
        more = f"{found}: the piece is {millimetres(before.length)} long"
        raise refusal(key, more, allowed, below(before.length))
    depth, place = added_metal(before.segments, after.segments)
    if depth > limit:
        more = (
            f"{found}: the wall as it was measured is wider by up to {2e3 * depth:.3g} mm in "
            f"diameter, {1e3 * place:.3g} mm from the rim plane"
        )
        raise refusal(key, more, allowed, _example(before, key))


def _example(bore: Bore, key: str) -> str:
    """A size that removes metal, a tenth beyond what there is."""
    start, stop = bore.throat_start, bore.throat_end
    return {
        "cup.diameter": millimetres(_rounded_up(2.1 * bore.rim_radius)),
        "backbore.end_diameter": millimetres(_rounded_up(2.1 * bore.shank_radius)),
        "throat.diameter": millimetres(_rounded_up(2 * bore.throat_radius)),
        "cup.depth": millimetres(_rounded_up(start + 0.1 * (stop - start))),
        "throat.length": below(0.9 * (stop - start)),
    }[key]


def _rounded_up(length: float) -> float:
    """A length in whole tenths of a millimetre, the next larger one [m]."""
    return (np.floor(1e4 * length + 1e-6) + 1) / 1e4


def changed_dimensions(
    bore: Bore, dimensions: Sequence[Dimension], changes: Changes
) -> list[Dimension]:
    """The dimensions of the changed bore: those of the measured one, and the sizes of its changes.

    Parameters
    ----------
    bore : Bore
        As it was measured.
    dimensions : sequence of Dimension
        Of that bore.
    changes : Changes
        What is changed in it.

    Raises
    ------
    BoreError
        If a change does not fit, or adds metal to a piece that exists.
    """
    steps = steps_of(bore, changes)
    if not steps:
        return list(dimensions)
    kept = _kept(bore, _made(bore, steps))
    cut = {key for step in steps for key, _ in step.names}
    found = [_of_measured(bore, one, steps, kept) for one in dimensions if one.key not in cut]
    for number, step in enumerate(steps):
        for place, (key, label) in enumerate(step.names):

            def build(size: float, number: int = number, place: int = place) -> Bore:
                sizes = list(steps[number].sizes)
                sizes[place] = size
                return _made(
                    bore,
                    [
                        *steps[:number],
                        replace(steps[number], sizes=tuple(sizes)),
                        *steps[number + 1 :],
                    ],
                )

            found.append(variation(build, step.sizes[place], key=key, label=label))
    return found


def _kept(bore: Bore, made: Bore) -> dict[int, int]:
    """Numbers of the measured bore's segments that no tool has touched, and theirs after it."""
    drawn = {_drawn(segment): number for number, segment in enumerate(made.segments)}
    found = {number: drawn.get(_drawn(segment)) for number, segment in enumerate(bore.segments)}
    return {number: there for number, there in found.items() if there is not None}


def _drawn(segment: Segment) -> tuple[str, bytes, bytes]:
    return segment.part, segment.points.tobytes(), segment.weights.tobytes()


def _of_measured(
    bore: Bore, dimension: Dimension, steps: Sequence[Step], kept: Mapping[int, int]
) -> Dimension:
    """A dimension of the measured bore, with what the changed bore's wall does when it changes."""
    if dimension.pieces.keys() <= kept.keys():  # far from every tool
        pieces = {kept[number]: piece for number, piece in dimension.pieces.items()}
        return replace(dimension, pieces=pieces)

    def build(value: float) -> Bore:
        amount = value - dimension.value
        return _made(dimension.changed(bore, amount) if amount else bore, steps)

    return variation(
        build,
        dimension.value,
        key=dimension.key,
        label=dimension.label,
        unit=dimension.unit,
        position=dimension.position,
    )


def _made(bore: Bore, steps: Sequence[Step]) -> Bore:
    for step in steps:
        bore = step(bore)
    return bore


def _entry_step(bore: Bore, entry: Entry, *, new: bool) -> Step:
    sharp = check_entry(bore, entry, new=new)

    def make(bore: Bore, sizes: Sequence[float]) -> Bore:
        return with_entry(bore, replace(entry, sizes=tuple(sizes)), sharp=sharp)

    names = [(f"{KEY}.{word}", label) for word, label in ENTRY_SIZES.get(entry.shape, ())]
    return Step(make, entry.sizes, tuple(names))
