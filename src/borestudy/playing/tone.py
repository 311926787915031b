r"""The tone in time: one mass as lips, on a bore as a sum of modes.

With the opening :math:`h`, the pressure drop over the lips :math:`P = p_m - p`, the flow
:math:`u` and a mode :math:`z_k` for each pole :math:`s_k` with residue :math:`r_k`,

.. math::
    \ddot h + \frac{\omega_l}{Q_l}\dot h + \omega_l^2 (h - h_0) = \frac{P}{\mu}, \qquad
    u = w \max(h, 0) \sqrt{2 |P|/\rho}\, \mathrm{sign}\,P

.. math::
    \dot z_k = s_k z_k + r_k u, \qquad p = p_0 + \sum_k m_k \mathrm{Re}\,z_k,

with :math:`m_k = 2` for one of a pair, 1 for a real pole, and :math:`p_0` a steady pressure.

In a time step P and u are parabolas through the step's ends and the end of the step before, for
which lips and modes have their exact solutions; the equation for the flow is then one in
:math:`\sqrt{|P|}` at the step's end, a cubic.  The error goes with the third power of the step, and
with its square where the lips close.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from borestudy.playing.lips import Lips
from borestudy.playing.modes import Modes
from borestudy.playing.parabolas import lips_step, modal_step, parts

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: Newton's method ends where the root moves by less than this share; it takes two or three steps.
ENOUGH, MOST_ITERATIONS = 1e-13, 60
#: A first opening is so much wider than the steady one, to start from.
DISTURBANCE = 1e-3
#: A mouth pressure that is called steady rises to its value within so long [s].
ATTACK = 0.02


@dataclass(frozen=True)
class Oscillator:
    """Lips with their resonance, on a bore.

    Attributes
    ----------
    lips : Lips
    lips_frequency : float [Hz]
    modes : Modes
        Of the impedance that the lips blow into.
    offset : float [Pa]
        Steady pressure in the cup beside that of the modes: what makes its mean right at one flow.
    density : float [kg/m³]
    """

    lips: Lips
    lips_frequency: float
    modes: Modes
    offset: float
    density: float

    @property
    def omega(self) -> float:
        """The lips' angular resonance frequency [rad/s]."""
        return 2 * np.pi * self.lips_frequency

    @property
    def stiffness(self) -> float:
        """Of the lips, by area [Pa/m]."""
        return self.lips.mass_per_area * self.omega**2

    @property
    def flow_factor(self) -> float:
        """Flow by opening and square root of the pressure drop."""
        return float(self.lips.width * np.sqrt(2 / self.density))

    @property
    def weighted(self) -> Complex:
        """Residues of which the real parts of modes add up to the pressure."""
        return np.asarray(np.where(self.modes.poles.imag != 0, 2, 1) * self.modes.residues)

    def steady(self, mouth_pressure: float) -> tuple[float, float]:
        """Pressure drop over the lips [Pa] and opening [m] at which nothing moves."""
        resistance, lips = self.modes.at_rest, self.lips

        def opening(drop: float) -> float:
            return max(lips.opening_at_rest + drop / self.stiffness, 0.0)

        def excess(root: float) -> float:
            drop = root * abs(root)
            return drop + resistance * self.flow_factor * opening(drop) * root - available

        available = mouth_pressure - self.offset
        reach = np.sqrt(abs(available)) + 1
        root = brentq(excess, -reach, reach, xtol=1e-14, rtol=1e-14)
        return root * abs(root), opening(root * abs(root))


@dataclass(frozen=True)
class State:
    """What an oscillator needs to go on from.

    Attributes
    ----------
    opening, velocity : float
        Of the lips [m], [m/s].
    drop, flow : float
        Over the lips [Pa], through them [m³/s].
    modes : ndarray, shape (n,)
        Each mode's share of the pressure [Pa].
    before : tuple of (float, float), optional
        Drop and flow a step earlier; as now, if not given.
    """

    opening: float
    velocity: float
    drop: float
    flow: float
    modes: Complex
    before: tuple[float, float] | None = None


@dataclass(frozen=True)
class Played:
    """A stretch of a tone.

    Attributes
    ----------
    step : float
        Time between samples [s].
    opening, flow, pressure : ndarray, shape (n,)
        Opening [m], flow [m³/s] and pressure in the cup [Pa].
    end : State
        Where it may go on.
    """

    step: float
    opening: Real
    flow: Real
    pressure: Real
    end: State


def at_rest(oscillator: Oscillator) -> State:
    """Lips at rest, no pressure in the mouth."""
    nothing = np.zeros(len(oscillator.modes.poles), dtype=complex)
    return State(oscillator.lips.opening_at_rest, 0.0, 0.0, 0.0, nothing)


def disturbed(
    oscillator: Oscillator, mouth_pressure: float, disturbance: float = DISTURBANCE
) -> State:
    """The steady state at a mouth pressure [Pa], with the lips let go from a wider opening.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    mouth_pressure : float
        [Pa].
    disturbance : float
        By how much wider, as a share of the opening.
    """
    drop, opening = oscillator.steady(mouth_pressure)
    flow = oscillator.flow_factor * opening * np.sqrt(abs(drop)) * np.sign(drop)
    modes = -oscillator.weighted / oscillator.modes.poles * flow
    wider = 1 + disturbance
    return State(wider * opening, 0.0, drop, float(wider * flow), modes)


def attack(mouth_pressure: float, duration: float, step: float) -> Real:
    """A mouth pressure [Pa] that rises from 0 as half a cosine and stays, shape (n_steps,)."""
    time = np.minimum(np.arange(round(duration / step)) * step / ATTACK, 1.0)
    return np.asarray(mouth_pressure * 0.5 * (1 - np.cos(np.pi * time)))


def simulate(
    oscillator: Oscillator, mouth_pressure: Real, step: float, start: State | None = None
) -> Played:
    """The tone at a mouth pressure, sample by sample.

    Parameters
    ----------
    oscillator : Oscillator
        Lips and bore.
    mouth_pressure : ndarray, shape (n_steps,)
        At the end of each step [Pa].
    step : float
        Time step [s].
    start : State, optional
        Where to start from; lips at rest without pressure, if not given.

    Raises
    ------
    ValueError
        If a mouth pressure is not finite, or the step is not above 0.
    """
    pressures = np.asarray(mouth_pressure, dtype=float)
    if not (np.all(np.isfinite(pressures)) and np.isfinite(step) and step > 0):
        raise ValueError(
            f"tone: found a time step of {step!r} s or mouth pressures that are not finite; "
            "allowed are finite ones and a step above 0 s, for example 1/96000"
        )
    begin = at_rest(oscillator) if start is None else start
    matrix, ahead, gain = modal_step(oscillator.modes.poles, oscillator.weighted, step)
    (e11, e12, c1, a1, b1), (e21, e22, c2, a2, b2) = lips_step(
        oscillator.omega, oscillator.lips.quality_factor, oscillator.lips.mass_per_area, step
    )
    rest, factor = oscillator.lips.opening_at_rest, oscillator.flow_factor
    moved, velocity = begin.opening - rest, begin.velocity
    drop, flow = begin.drop, begin.flow
    drop_before, flow_before = begin.before or (drop, flow)
    state = np.append(parts(begin.modes - ahead * flow), [flow, flow_before])
    after = np.empty_like(state)
    root = float(np.sign(drop) * np.sqrt(abs(drop)))
    openings, flows, drops = [], [], []
    for available in (pressures - oscillator.offset).tolist():
        np.dot(matrix, state, out=after)
        free = available - after.item(-2)
        held = e11 * moved + e12 * velocity + a1 * drop + c1 * drop_before
        velocity = e21 * moved + e22 * velocity + a2 * drop + c2 * drop_before
        drop_before, flow_before = drop, flow
        if rest + held + b1 * free <= 0 and rest + held <= 0:
            drop, flow = free, 0.0
            root = abs(free) ** 0.5 * (1 if free >= 0 else -1)
        else:
            root = _root(gain * factor, rest + held, b1, free, root)
            drop = root * abs(root)
            flow = factor * max(rest + held + b1 * drop, 0.0) * root
        moved = held + b1 * drop
        velocity += b2 * drop
        after[-2] = flow
        state, after = after, state
        openings.append(moved)
        flows.append(flow)
        drops.append(drop)
    modes = state[:-2:2] + 1j * state[1:-2:2] + ahead * flow
    return Played(
        step,
        rest + np.array(openings),
        np.array(flows),
        pressures - np.array(drops),
        State(rest + moved, velocity, drop, flow, modes, (drop_before, flow_before)),
    )


def _root(by_opening: float, opening: float, by_drop: float, free: float, first: float) -> float:
    """The s with s|s| + B max(h + c s|s|, 0) s = A, of which the left side rises with s.

    B is `by_opening`, h `opening`, c `by_drop`, A `free`; `first` is where to start.
    """
    low, high = -(abs(free) ** 0.5), abs(free) ** 0.5
    root = min(max(first, low), high)
    for _ in range(MOST_ITERATIONS):
        size = abs(root)
        wide = opening + by_drop * root * size
        if wide > 0:
            excess = root * size + by_opening * wide * root - free
            slope = 2 * size + by_opening * (wide + 2 * by_drop * root * size)
        else:
            excess, slope = root * size - free, 2 * size
        if excess > 0:
            high = root
        else:
            low = root
        better = root - excess / slope if slope > 0 else low - 1
        if not low <= better <= high:
            better = 0.5 * (low + high)
        change = abs(better - root)
        root = better
        if change <= ENOUGH * size:
            break
    return root
