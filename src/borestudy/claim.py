"""A claim: what a text says of a quantity of one bore, and how exactly."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Claim:
    """One claim of a text.

    Attributes
    ----------
    line : int
        Line of the claims file on which it stands.
    where : str
        Where in the text, in the author's words.
    quantity : str
        Name of the quantity, such as ``resonance`` or ``pressure drop at 0.05 L/s``; ``change of``
        before it where it is about the change against the study's first case.
    figure : str
        The same without the flow rate and without ``change of``.
    case : str
        Name of the case that it is about.
    value, tolerance : float
        What is claimed and how far it may be off either way, in `unit`.
    written : str
        The value as the author wrote it, with its unit.
    unit : str
        Unit of results, as table columns spell it; ``cents`` or ``percent`` of a change.
    written_unit : str
        The author's unit.
    written_factor : float
        Number in the author's unit over number in `unit`.
    tolerance_source : str
        ``stated``, or ``last digit`` where half of the value's last digit is taken.
    rate_L_per_s : float or None
        The flow rate that it is at.
    is_change : bool
        Whether it is about the change against the study's first case.
    """

    line: int
    where: str
    quantity: str
    figure: str
    case: str
    value: float
    tolerance: float
    unit: str
    written: str = ""
    written_unit: str = ""
    written_factor: float = 1.0
    tolerance_source: str = "stated"
    rate_L_per_s: float | None = None
    is_change: bool = False
