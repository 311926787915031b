"""Two kinds of mutant beside the tool's own: a number a little off, and one word for another."""

import re
from collections.abc import Iterator
from typing import Any, ClassVar

import parso
from cosmic_ray.operators.operator import Example, Operator

FACTOR = 1.1
#: Words that name two of a kind: one in the place of the other is a column with another's figure.
PAIRS = (
    ("low", "high"),
    ("throat", "backbore"),
    ("cup", "backbore"),
    ("laminar", "turbulent"),
    ("flanged", "unflanged"),
    ("loss_Pa", "kinetic_energy_rise_Pa"),
    ("discharge_coefficient", "differential_resistance_kPa_s_per_L"),
    ("pressure_drop_Pa", "loss_coefficient"),
    ("transfer", "gain"),
    ("percent", "cents"),
    ("Q", "impedance_peak_Pa_s_per_m3"),
    ("rim_plane", "shank_end"),
    ("separation", "reattachment"),
)
BOTH_WAYS = (*PAIRS, *((other, one) for one, other in PAIRS))


class ScaleNumber(Operator):
    """A number with a fraction or an exponent becomes a tenth more."""

    def mutation_positions(self, node: Any) -> Iterator[tuple[Any, Any]]:
        """Of every such number."""
        number = node.type == "number" and re.fullmatch(
            r"[\d_]*(\.\d*)?([eE][-+]?\d+)?", node.value
        )
        if number and not node.value.isdigit() and float(node.value) != 0:
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        """The number as it then is."""
        text = repr(FACTOR * float(node.value))
        return parso.python.tree.Number(f"{node.prefix}{text}", node.start_pos)

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        """For the tool's own tests."""
        return (Example("x = 2.0", "x = 2.2"),)


class SwapWord(Operator):
    """In a key, a column or a word of the code, one of a pair becomes the other."""

    kinds: ClassVar[tuple[str, ...]] = ("string", "fstring_string")

    def _swaps(self, node: Any) -> list[str]:
        # a sentence is told to people; a doubled swap would be the same text again
        if node.type not in self.kinds or re.search(r"\s|'''|\"\"\"", node.value):
            return []
        found = []
        for one, other in BOTH_WAYS:
            swapped = re.sub(rf"(?<![A-Za-z]){one}(?![A-Za-z])", other, node.value)
            if swapped != node.value:
                found.append(swapped)
        return found

    def mutation_positions(self, node: Any) -> Iterator[tuple[Any, Any]]:
        """One for every pair that has a word in the text."""
        for _ in self._swaps(node):
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        """The text with its word swapped."""
        node.value = self._swaps(node)[index]
        return node

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        """For the tool's own tests."""
        return (Example("x = 'drop_low_Pa'", "x = 'drop_high_Pa'"),)


PROVIDER = {"ScaleNumber": ScaleNumber, "SwapWord": SwapWord}
