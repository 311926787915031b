r"""The tone in time: one mass as lips, on a bore as a sum of modes.

With the opening :math:`h`, the pressure drop over the lips :math:`P = p_m - p`, the flow
:math:`u` and a mode :math:`z_k` for each pole :math:`s_k` with residue :math:`r_k`,

.. math::
    \ddot h + \frac{\omega_l}{Q_l}\dot h + \omega_l^2 (h - h_0) = \frac{P}{\mu}, \qquad
    u = w \max(h, 0) \sqrt{2 |P|/\rho}\, \mathrm{sign}\,P

.. math::
    \dot z_k = s_k z_k + r_k u, \qquad p = p_0 + \sum_k m_k \mathrm{Re}\,z_k,

with :math:`m_k = 2` for one of a pair, 1 for a real pole, and :math:`p_0` a steady pressure.

In a time step P and u are straight lines, for which lips and modes have their exact solutions
(first-order hold); the equation for the flow is then one in :math:`\sqrt{|P|}` at the step's end,
a cubic.  The error goes with the square of the step.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm
from scipy.optimize import brentq

from borestudy.playing.lips import Lips
from borestudy.playing.modes import Modes

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
    """

    opening: float
    velocity: float
    drop: float
    flow: float
    modes: Complex


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
    matrix, ahead, gain = _modal_step(oscillator, step)
    (e11, e12, a1, b1), (e21, e22, a2, b2) = _lips_step(oscillator, step)
    rest, factor = oscillator.lips.opening_at_rest, oscillator.flow_factor
    moved, velocity = begin.opening - rest, begin.velocity
    drop, flow = begin.drop, begin.flow
    state = np.append(_split(begin.modes - ahead * flow), flow)
    after = np.empty_like(state)
    root = float(np.sign(drop) * np.sqrt(abs(drop)))
    openings, flows, drops = [], [], []
    for available in (pressures - oscillator.offset).tolist():
        np.dot(matrix, state, out=after)
        free = available - after.item(-1)
        held = e11 * moved + e12 * velocity + a1 * drop
        velocity = e21 * moved + e22 * velocity + a2 * drop
        if rest + held + b1 * free <= 0 and rest + held <= 0:
            drop, flow = free, 0.0
            root = abs(free) ** 0.5 * (1 if free >= 0 else -1)
        else:
            root = _root(gain * factor, rest + held, b1, free, root)
            drop = root * abs(root)
            flow = factor * max(rest + held + b1 * drop, 0.0) * root
        moved = held + b1 * drop
        velocity += b2 * drop
        after[-1] = flow
        state, after = after, state
        openings.append(moved)
        flows.append(flow)
        drops.append(drop)
    modes = state[:-1:2] + 1j * state[1:-1:2] + ahead * flow
    return Played(
        step,
        rest + np.array(openings),
        np.array(flows),
        pressures - np.array(drops),
        State(rest + moved, velocity, drop, flow, modes),
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


def _split(values: Complex) -> Real:
    """Real and imaginary parts in turn."""
    return np.column_stack([values.real, values.imag]).ravel()


def _modal_step(oscillator: Oscillator, step: float) -> tuple[Real, Complex, float]:
    """What takes the modes over a step with a flow that is a straight line.

    With :math:`z = v + a u`, of which the `a` are returned, a step is :math:`v' = E v + g u`: the
    flow at the step's end is not in it.  The matrix does this for the real and imaginary parts,
    and gives in its last row the pressure of the :math:`v'`; the pressure of the :math:`a u` is
    the last number times u.
    """
    over = oscillator.modes.poles * step
    grown, first, second = np.exp(over), _phi(over, 1), _phi(over, 2)
    ahead = step * oscillator.weighted * second
    flow = step * oscillator.weighted * (grown * second + first - second)
    count = len(over)
    matrix = np.zeros((2 * count + 1, 2 * count + 1))
    even, odd = np.arange(0, 2 * count, 2), np.arange(1, 2 * count, 2)
    matrix[even, even] = matrix[odd, odd] = grown.real
    matrix[odd, even], matrix[even, odd] = grown.imag, -grown.imag
    matrix[:-1, -1] = _split(flow)
    matrix[-1] = matrix[even].sum(axis=0)
    return matrix, ahead, float(ahead.real.sum())


def _phi(x: Complex, order: int) -> Complex:
    """The functions (e^x - 1)/x and (e^x - 1 - x)/x², by their series where x is small."""
    small = np.abs(x) < 0.5
    series, term = np.zeros_like(x), np.full_like(x, 1 / order)
    for k in range(order + 1, order + 18):
        series, term = series + term, term * np.where(small, x, 0) / k
    safe = np.where(small, 1, x)
    closed = (np.exp(safe) - (1 if order == 1 else 1 + safe)) / safe**order
    return np.asarray(np.where(small, series, closed))


def _lips_step(oscillator: Oscillator, step: float) -> list[list[float]]:
    """What takes opening and velocity over a step with a pressure drop that is a straight line.

    Two rows of factors: of opening, velocity, drop at the step's begin, and drop at its end.
    """
    omega, lips = oscillator.omega, oscillator.lips
    system = np.zeros((4, 4))
    system[0, 1] = 1.0
    system[1, :3] = -(omega**2), -omega / lips.quality_factor, 1 / lips.mass_per_area
    # The drop and its rise over a step of one.
    system *= step
    system[2, 3] = 1.0
    solved = expm(system)[:2]
    return np.column_stack([solved[:, :2], solved[:, 2] - solved[:, 3], solved[:, 3]]).tolist()
