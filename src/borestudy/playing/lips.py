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

from dataclasses import dataclass


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
    """

    mass_per_area: float = 2.0
    quality_factor: float = 7.0
    width: float = 8e-3
    opening_at_rest: float = 0.5e-3
