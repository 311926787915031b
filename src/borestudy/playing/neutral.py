r"""Oscillations of lips on a bore that neither grow nor decay, by their frequency.

Lips (`borestudy.playing.lips`) at rest under the mouth's pressure have the drop :math:`P` over
them, so that with :math:`q = \sqrt{2P/\rho}`

.. math::
    h_s = h_0 + \frac{P}{\mu\omega_l^2}, \qquad U = w h_s q, \qquad p_m = P + \Delta p(U),

where :math:`\Delta p` is the bore's steady pressure drop.  A small oscillation about that state
goes on as it is where, with :math:`D = \omega_l^2 - \omega^2 + i\omega\omega_l/Q`,

.. math::
    Y(\omega) = -\frac{w q}{\mu D} - g, \qquad g = \frac{w h_s}{\rho q}, \qquad
    Y = G + iB = 1/Z(\omega; R), \qquad R = \Delta p'(U).

Both parts of it together give, with :math:`r = \omega_l/\omega` and :math:`t = 1 - r^2`,

.. math::
    g = \frac{Q B t}{r} - G, \qquad q = \frac{\mu\omega^2 B}{w Q}\,\frac{r^2 + Q^2 t^2}{r},

so that at a frequency and a resistance :math:`R` one equation for :math:`t` is left,

.. math:: \rho q \left(\frac{g}{w} - \frac{q}{2\mu\omega^2 r^2}\right) = h_0 .

It has no root, or two with :math:`0 < t < 1` (where G ≥ 0 and B > 0; none where B ≤ 0): lips that
open outward sound above their resonance and above the bore's.  At the greater :math:`t` the lips
are open so wide that more pressure ends the oscillation; the smaller is where it starts.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import elementwise

from borestudy.playing.steady import SteadyDrop

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: Where between the least t that there can be and 1 the first root is looked for.
SCANNED = np.concatenate([np.geomspace(1e-5, 0.1, 25), np.linspace(0.1, 1.0, 25)[1:-1]])
#: For how many oscillations at once: their tries fit into a processor's cache.
AT_ONCE = 2000
#: Rounds for the resistance at most, and the share by which it may differ from the slope at last.
ROUNDS, SELF_CONSISTENT = 60, 1e-12
#: Share by which the resistance is known where the oscillation ends, and not looked for beyond.
NEAR_THE_END = 1e-3


#: Mass per area, quality factor, width and opening at rest [SI], arrays of one shape.
Properties = tuple[Real, Real, Real, Real]


@dataclass(frozen=True)
class Terms:
    r"""A bore's impedance by the resistance in its throat, :math:`Z = a - b / (c + R)`.

    Attributes
    ----------
    direct, through, around : ndarray, shape (n,)
        a [Pa·s/m³], b [Pa²·s²/m⁶] and c [Pa·s/m³].
    """

    direct: Complex
    through: Complex
    around: Complex

    def at(self, places: NDArray[np.int64]) -> "Terms":
        """Those at some places."""
        return Terms(self.direct[places], self.through[places], self.around[places])

    def admittance(self, resistance: ArrayLike) -> Complex:
        """Flow into the bore by pressure [m³/(Pa·s)]."""
        return np.asarray(1 / (self.direct - self.through / (self.around + np.asarray(resistance))))


@dataclass(frozen=True)
class Neutral:
    """Neutral oscillations, each array of shape (n,); NaN where there is none.

    Mouth pressure and the drop over the lips [Pa], ratio of the lips' resonance to the frequency,
    flow rate [m³/s], and resistance in the throat [Pa·s/m³].
    """

    mouth_pressure: Real
    lips_drop: Real
    ratio: Real
    flow_rate: Real
    resistance: Real


def neutral_oscillations(
    omega: Real,
    terms: Terms,
    lips: Properties,
    steady: SteadyDrop,
    density: float,
    start: Real | None = None,
) -> Neutral:
    """The neutral oscillation of least pressure at each angular frequency, its lips and its bore.

    Parameters
    ----------
    omega : ndarray, shape (n,)
        Angular frequencies [rad/s].
    terms : Terms, shape (n,)
        What the lips blow into, at these frequencies.
    lips : tuple of ndarray, shape (n,)
        The lips that go with each frequency.
    steady : SteadyDrop
        The bore's.
    density : float
        Of the air [kg/m³].
    start : ndarray, shape (n,), optional
        Where to begin the search for the resistance [Pa·s/m³], which is at 0 otherwise.

    Notes
    -----
    The resistance is sought by secants that are kept between a resistance that is below
    the slope of the drop at its own flow rate and one that is above it, or leaves no oscillation.
    """
    resistance = np.zeros(len(omega)) if start is None else start.copy()
    state = _at_resistance(omega, terms, resistance, lips, density)
    drop, ratio, flow = (one.copy() for one in state)
    slope = steady.slope(flow)
    error = slope - resistance
    settled = np.abs(error) <= SELF_CONSISTENT * np.abs(slope)
    left = np.flatnonzero(~settled & (np.isfinite(flow) | (resistance > 0)))
    low, high = np.zeros(len(omega)), np.full(len(omega), np.inf)
    low[error > 0], high[~(error > 0)] = resistance[error > 0], resistance[~(error > 0)]
    before, error_before = np.zeros(len(omega)), np.full(len(omega), np.nan)
    ends = np.isnan(flow)
    for _ in range(ROUNDS):
        if not len(left):
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            secant = (resistance - error * (resistance - before) / (error - error_before))[left]
            middle = np.where(np.isfinite(high), (low + high) / 2, resistance + error)[left]
        before[left], error_before[left] = resistance[left], error[left]
        inside = (secant > low[left]) & (secant < high[left])
        tried = np.where(inside, secant, middle)
        found = _at_resistance(
            omega[left], terms.at(left), tried, _chosen(lips, left), density
        )  # fmt: skip
        drop[left], ratio[left], flow[left] = found
        slope = steady.slope(found[2])
        resistance[left], error[left] = tried, slope - tried
        below = error[left] > 0
        # without an oscillation the resistance is too great
        ends[left] = np.where(below, ends[left], np.isnan(slope))
        low[left], high[left] = (
            np.where(below, tried, low[left]),
            np.where(below, high[left], tried),
        )
        settled[left] = np.abs(slope - tried) <= SELF_CONSISTENT * np.abs(slope)
        close = np.where(ends[left], NEAR_THE_END, SELF_CONSISTENT)
        left = left[~settled[left] & (high[left] - low[left] > close * tried)]
    drop, ratio, flow = (np.where(settled, each, np.nan) for each in (drop, ratio, flow))
    return Neutral(drop + steady.drop(flow), drop, ratio, flow, resistance)


def _chosen(lips: Properties, places: NDArray[np.int64]) -> Properties:
    mass, quality, width, opening = (one[places] for one in lips)
    return mass, quality, width, opening


def _at_resistance(
    omega: Real, terms: Terms, resistance: Real, lips: Properties, density: float
) -> tuple[Real, Real, Real]:
    """Drop over the lips [Pa], ratio of frequencies and flow rate [m³/s] where R is known."""
    admittance = terms.admittance(resistance)
    arguments = (omega, admittance.real, admittance.imag, *lips, np.full(len(omega), density))
    least = _least_t(admittance, lips[1])
    searched = np.flatnonzero((admittance.imag > 0) & (least < 1))
    parts = [searched[start : start + AT_ONCE] for start in range(0, len(searched), AT_ONCE)]
    t = np.full(len(omega), np.nan)
    brackets = [_first_crossing(least[one], *(each[one] for each in arguments)) for one in parts]
    if not brackets:
        return t, t, t
    low, high = np.concatenate(brackets, axis=1)
    found = np.isfinite(low)
    if found.any():
        at = searched[found]
        root = elementwise.find_root(
            _excess, (low[found], high[found]), args=tuple(one[at] for one in arguments)
        )
        t[at] = np.where(root.success, root.x, np.nan)
    velocity, opening, ratio = _state(t, *arguments)
    return density * velocity**2 / 2, ratio, lips[2] * opening * velocity


def _first_crossing(least: Real, *arguments: Real) -> Real:
    """Two t around the first root of `_excess`, shape (2, n); NaN where there is none."""
    t = np.concatenate([least[None], least + (1 - least) * SCANNED[:, None]])
    above = _excess(t[1:], *arguments) >= 0
    place, each = np.argmax(above, axis=0), np.arange(len(least))
    return np.where(above.any(axis=0), np.stack([t[place, each], t[place + 1, each]]), np.nan)


def _least_t(admittance: Complex, quality: Real) -> Real:
    """The t where the lips' steady conductance g would be 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        half = admittance.real / (2 * quality * admittance.imag)
    # of r² + 2 half r - 1 = 0, without the difference of nearly equal numbers
    ratio = 1 / (half + np.sqrt(1 + half**2))
    return np.maximum(2 * half * ratio, 0.0)


def _state(
    t: Real, omega: Real, real: Real, imaginary: Real, mass: Real, quality: Real, width: Real,
    rest: Real, density: Real,
) -> tuple[Real, Real, Real]:  # fmt: skip
    """Velocity between the lips [m/s], their opening [m] and r at a t."""
    ratio = np.sqrt(1 - t)
    conductance = quality * imaginary * t / ratio - real
    velocity = mass * omega**2 * imaginary * (1 - t + (quality * t) ** 2) / (width * quality)
    velocity = velocity / ratio
    return velocity, density * velocity * conductance / width, ratio


def _excess(t: Real, omega: Real, *rest: Real) -> Real:
    """Opening that the equations ask for above that which the drop makes of the one at rest [m]."""
    velocity, opening, ratio = _state(t, omega, *rest)
    mass, opening_at_rest, density = rest[2], rest[5], rest[6]
    pushed = density * velocity**2 / (2 * mass * (omega * ratio) ** 2)
    return np.asarray(opening - pushed - opening_at_rest)
