"""Which of a bore's quantities are shown where there is room for some."""

import re
from collections.abc import Sequence

#: So many at most.
QUANTITIES = 5


def foremost(names: Sequence[str]) -> list[str]:
    """Resonances first, then the flow resistance at the lowest and highest rate."""
    sound = [name for name in names if name == "resonance" or re.fullmatch(r"peak \d+", name)]
    if len(sound) > 1:  # with an air column, spread over the registers
        spread = {round(place * (len(sound) - 1) / 2) for place in range(3)}
        sound = [sound[place] for place in sorted(spread)]
    else:
        sound += [name for name in ("resonance Q", "resonance impedance") if name in names]
    flow = [name for name in names if name.startswith("flow resistance")]
    return [*sound, *flow[:1], *flow[1:][-1:]][:QUANTITIES] or list(names[:QUANTITIES])
