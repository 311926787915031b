r"""Lips as a valve of one mass that the mouth's pressure opens outward.

With the opening :math:`h`, the mouth's pressure :math:`p_m`, the cup's :math:`p` and the flow
:math:`u` through the opening,

.. math::
    \ddot h + \frac{\omega_l}{Q_l}\dot h + \omega_l^2 (h - h_0) = \frac{p_m - p}{\mu}, \qquad
    u = w h \sqrt{2 (p_m - p)/\rho}

(Elliott & Bowsher 1982, J. Sound Vib. 83, 181; Cullen, Gilbert & Campbell 2000, Acustica 86, 704;
equations from memory).  Lips of players pass between opening outward and inward, which one mass
cannot do.
"""

import math
from dataclasses import dataclass, fields

#: Digits that lips of a set have: no last digit of a machine's logarithm can be seen in them.
DIGITS = 3


@dataclass(frozen=True)
class Lips:
    """Lips but for their resonance frequency, which a player sets with the note.

    Attributes
    ----------
    mass_per_area : float [kg/m²]
        Mass over the area that the pressure works on, μ.
    quality_factor : float
        Q of the lips, :math:`Q_l`.
    width : float [m]
        Width of the opening, w.
    opening_at_rest : float [m]
        Height of the opening without pressure, :math:`h_0`.

    Raises
    ------
    ValueError
        If one of them is no finite number above 0.
    """

    mass_per_area: float = 2.0
    quality_factor: float = 7.0
    width: float = 8e-3
    opening_at_rest: float = 0.5e-3

    def __post_init__(self) -> None:
        """Refuse what no lips can be."""
        for field in fields(self):
            value = getattr(self, field.name)
            if not 0 < value < math.inf:
                raise ValueError(
                    f"{field.name}: found {value!r}; allowed is a finite number above 0 in SI "
                    f"units, for example {field.default!r}"
                )


@dataclass(frozen=True)
class LipsRange:
    """Between which values a property of lips lies in a set [SI], and where that is from.

    A text has the values in `unit`, of which one is `factor` in SI.
    """

    name: str
    low: float
    high: float
    source: str
    unit: str = ""
    factor: float = 1.0

    def __str__(self) -> str:
        """``7 to 12 mm``."""
        return f"{self.low / self.factor:.6g} to {self.high / self.factor:.6g} {self.unit}".rstrip()


#: Each end is a value that was published; lips in between are nobody's.
RANGES = (
    LipsRange(
        "mass_per_area",
        1.8,
        9.0,
        "1.8 kg/m² (Berjamin, Lombard, Vergez & Cottanceau 2017, Acta Acust. united Acust. 103, "
        "117); 9 kg/m² (Velut, Vergez, Gilbert & Djahanbani 2017, ibid. 72); from memory",
        "kg/m²",
    ),
    LipsRange(
        "quality_factor",
        3.0,
        10.0,
        "3 of open lips (Adachi & Sato 1996, J. Acoust. Soc. Am. 99, 1200); 10 of artificial lips "
        "(Cullen, Gilbert & Campbell 2000, Acustica 86, 704, from memory)",
    ),
    LipsRange(
        "width",
        7e-3,
        12e-3,
        "7 mm (Adachi & Sato 1996); 12 mm (Velut et al. 2017, from memory)",
        "mm",
        1e-3,
    ),
    LipsRange(
        "opening_at_rest",
        0.1e-3,
        0.5e-3,
        "0.1 mm (Berjamin et al. 2017); 0.5 mm (Velut et al. 2017); from memory",
        "mm",
        1e-3,
    ),
)


def lips_set(count: int = 50) -> tuple[Lips, ...]:
    """So many lips, spread evenly over the logarithms of the published ranges; always the same.

    Parameters
    ----------
    count : int
        How many, from 1 on; a longer set begins with a shorter one.

    Raises
    ------
    ValueError
        If it is none.

    Notes
    -----
    Halton's sequence in the bases 2, 3, 5 and 7 without scrambling (Halton 1960, Numer. Math. 2,
    84), from its second point on, since the first is the corner of all least values.
    """
    if count < 1:
        raise ValueError(
            f"count: found {count!r}; allowed is a whole number from 1, for example 50"
        )
    # Only a set needs it, and it takes half a second to import.
    from scipy.stats.qmc import Halton

    sequence = Halton(len(RANGES), scramble=False)
    sequence.fast_forward(1)
    return tuple(
        Lips(
            **{
                one.name: float(f"{one.low * (one.high / one.low) ** share:.{DIGITS}g}")
                for one, share in zip(RANGES, point, strict=True)
            }
        )
        for point in sequence.random(count).tolist()
    )
