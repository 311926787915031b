"""Changes to a measured bore: which tools go into it, one after another.

Each change is made by a tool on the bore as the tool before has left it.  Whatever would add metal
is refused, with the key, the place and how much, unless a new piece is made after the measured one.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from borestudy.bore.bore import Bore
from borestudy.bore.cuts.entries import check_entry, with_entry
from borestudy.bore.entry import ENTRY_SIZES, KEY, Entry
from borestudy.bore.segment import Segment
from borestudy.bore.variation import Dimension, variation


@dataclass(frozen=True, kw_only=True)
class Changes:
    """What is changed in a measured bore; None where it stays as it was measured.

    Attributes
    ----------
    entry : Entry, optional
        Entry cut from the edge between cup and throat.
    new : bool
        Whether a new piece is made, so that metal may be added.
    """

    entry: Entry | None = None
    new: bool = False


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
    if changes.entry is not None:
        steps.append(_entry_step(_made(bore, steps), changes.entry, new=changes.new))
    return steps


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
    found = [_of_measured(bore, one, steps, kept) for one in dimensions]
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
