"""Which of a bore's quantities are shown where there is room for some."""

import re
from collections.abc import Sequence

#: So many at most.
QUANTITIES = 6


def foremost(names: Sequence[str]) -> list[str]:
    """Resonances or an air column's usual peaks, then the flow resistance at both ends of rates."""
    peaks = [int(found[1]) for name in names if (found := re.fullmatch(r"peak (\d+)", name))]
    if peaks:
        from borestudy.report.figures.sensitivities import shown_peaks

        sound = [f"peak {number}" for number in shown_peaks(peaks)]
    else:
        known = ("resonance", "resonance Q", "resonance impedance")
        sound = [name for name in known if name in names]
    flow = [name for name in names if name.startswith("flow resistance")]
    return [*sound, *flow[:1], *flow[1:][-1:]][:QUANTITIES] or list(names[:QUANTITIES])
