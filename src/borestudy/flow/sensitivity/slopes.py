"""A rate's figures by each dimension, from the derivatives that its states hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from skfem import MeshTri2

from borestudy.bore import Bore, Dimension
from borestudy.bore.variation import Piece
from borestudy.fem import Floats
from borestudy.fem.motion import node_velocities
from borestudy.flow.model import Model
from borestudy.flow.problem import State
from borestudy.flow.regime import Scale
from borestudy.flow.result import DropSlope, FlowAtRate
from borestudy.flow.uncertainty import from_ladder, widened
from borestudy.quantity import Quantity

from .form import OF_MODEL
from .goals import DROP, TO_THROAT, TURN

#: How far the wall goes either way for what the model makes of a dimension [m].
WALL_STEP = 1e-6
#: A complex step in the Reynolds number.
COMPLEX_STEP = 1e-30
#: SI units in one unit that people are told a dimension in.
UNITS = {"mm": 1e-3, "deg": np.pi / 180, "": 1.0}


@dataclass(frozen=True)
class Variations:
    """A bore with dimensions that derivatives are wanted by, and the model of its flow."""

    bore: Bore
    dimensions: Sequence[Dimension]
    model: Model

    def motion(self, mesh: MeshTri2) -> Floats:
        """Derivative of the scaled nodes by each dimension [1/SI], shape (dimensions, 2 nodes)."""
        length = 2 * self.bore.throat_radius
        found = node_velocities(mesh, self.bore, self.dimensions) / length
        return np.asarray(found.reshape(len(self.dimensions), -1))

    def of_model(self, reynolds: float) -> tuple[Floats, Floats]:
        """Derivatives of the model's own numbers, and of those by the Reynolds number.

        Each of shape (dimensions, 5): see `LinearForm.by_shape`.
        """
        number, length = reynolds + 1j * COMPLEX_STEP, 2 * self.bore.throat_radius

        def own(side: tuple[float, Bore, Model]) -> Floats:
            _, bore, model = side
            found, scale = np.zeros(OF_MODEL, dtype=complex), 2 * bore.throat_radius / length
            found[-1] = np.log(scale)
            ramp = model.ramp(number, scale)
            found[:-1] = 0 if ramp is None else ramp
            return found

        slopes = np.zeros((len(self.dimensions), OF_MODEL), dtype=complex)
        for index, (back, ahead) in self._sides.items():
            slopes[index] = (own(ahead) - own(back)) / (ahead[0] - back[0])
        return slopes.real, slopes.imag / COMPLEX_STEP

    @cached_property
    def _sides(self) -> dict[int, list[tuple[float, Bore, Model]]]:
        """Each dimension less and more by so much [SI], with the bores and models of these.

        Those are left out that move the wall behind the throat only: no model asks for that.
        """
        return {
            index: self._sides_of(one)
            for index, one in enumerate(self.dimensions)
            if any(self._reaches_throat(piece) for piece in one.pieces.values())
        }

    def _reaches_throat(self, piece: Piece) -> bool:
        """Whether a moving segment is before the throat's end, or what moves of it may be there."""
        if piece.segment.start[0] < self.bore.throat_end:
            return True
        x, r = piece.segment.points[np.any(piece.points != 0, axis=1)].T
        return bool(((x <= self.bore.throat_end) | (r <= self.bore.throat_radius)).any())

    def _sides_of(self, dimension: Dimension) -> list[tuple[float, Bore, Model]]:
        speeds = [np.abs(piece.points).max() for piece in dimension.pieces.values()]
        # a curve whose weights alone move goes about as far as its own size
        sizes = [
            np.abs(piece.weights).max() * np.ptp(piece.segment.points)
            for piece in dimension.pieces.values()
        ]
        step = WALL_STEP / max([*speeds, *sizes])
        found = []
        for amount in (-step, step):
            try:
                bore = dimension.changed(self.bore, amount)
            except ValueError:
                amount, bore = 0.0, self.bore
            found.append((amount, bore, self.model.in_bore(bore)))
        return found


def drop_slopes(
    variations: Variations,
    scale: Scale,
    states: Sequence[State],
    motions: Sequence[Floats | None],
    ratio: float,
    known_to: float = 0.0,
) -> Mapping[str, DropSlope]:
    """What each dimension does to a rate's figures, per unit that people are told it in.

    Parameters
    ----------
    variations : Variations
        The bore, its dimensions, and the model of its flow.
    scale : Scale
        Scales of the rate.
    states : sequence of State
        Solutions on neighbouring meshes, coarsest first.
    motions : sequence of ndarray or None
        The motion of each one's mesh: see `Variations.motion`.
    ratio : float
        How many times smaller the elements are from one mesh to the next.
    known_to : float
        Share of it to which the figure itself is known: none of its derivatives is known better,
        as two meshes may agree in one by chance.

    Returns
    -------
    mapping of str to DropSlope
        By the dimensions' keys; none where a state has no derivatives.
    """
    if any(state.by_shape is None for state in states):
        return {}
    own, turned = variations.of_model(scale.reynolds)
    ladders: dict[str, list[Floats]] = {}
    for state, motion in zip(states, motions, strict=True):
        assert state.by_shape is not None
        assert motion is not None
        by = {
            name: motion @ gradient[:-OF_MODEL] + own @ gradient[-OF_MODEL:]
            for name, gradient in state.by_shape.items()
        }
        along = by[TURN] + turned @ state.by_shape[DROP][-OF_MODEL:]
        # in units of q, and of q over the flow rate: see `scaled_figures`
        figures = {DROP: 2 * by[DROP]}
        figures["differential_resistance"] = 4 * by[DROP] + 2 * state.reynolds * along
        if TO_THROAT in by:
            figures[TO_THROAT] = 2 * by[TO_THROAT]
            figures["backbore_pressure_drop"] = figures[DROP] - figures[TO_THROAT]
        for name, values in figures.items():
            ladders.setdefault(name, []).append(values)
    units = {"differential_resistance": "kPa_s_per_L"}

    def quantity(name: str, number: int, of: Dimension) -> Quantity | None:
        unit = units.get(name, "Pa")
        factor = UNITS[of.unit] * scale.factor(unit)
        found = from_ladder([values[number] for values in ladders[name]], ratio, unit, factor)
        return found and widened(found, known_to * abs(found.value))

    return {
        of.key: replace(DropSlope(), **{name: quantity(name, number, of) for name in ladders})
        for number, of in enumerate(variations.dimensions)
    }


def known_share(rate: FlowAtRate) -> float:
    """Uncertainty of a rate's pressure drop over the greater of it and of that to the throat."""
    drop, part = rate.pressure_drop, rate.pressure_drop_to_throat_end
    if drop is None or drop.uncertainty is None:
        return 0.0
    return drop.uncertainty / max(abs(drop.value), abs(part.value) if part else 0.0, 1e-300)
