r"""Where along a bore the flow turns turbulent, and how the model begins there.

Before the place the working variable is neither brought in nor produced, so that the flow is
laminar.  Over a ramp behind it production rises from none to the model's own, and a relaxation
brings in an eddy viscosity of :math:`U D / 60`, with which the pressure behind the square edge of
the open nozzle benchmark comes back as measured; long orifices are within their uncertainty then.

Behind a square edge the separated layer turns turbulent within the throat once the throat's
Reynolds number is high enough.  Elsewhere the jet behind the throat's end does, at a distance that
falls with the Reynolds number and grows with the jet's shear layer, which the throat's boundary
layer leaves: with the square root of the throat's length.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.bore import Passage
from borestudy.fem import Floats

#: Distance behind the throat's end, in throat diameters, of a throat whose length and `SHORTEST`
#: together are `LENGTH`: ``PLAIN / Re + STEEP / (Re - LEAST_REYNOLDS)``, none below the last.  It
#: is 21 at 1116, 12 at 1500, 7.8 at 2000, 5.8 at 2500, 3 at 4465 and 1.9 at 6700, as a direct
#: simulation of the jet in a cone of 4 degrees and 20 diameters behind a rounded throat of 1.4
#: diameters found (none, 12, 8, 6, 3, 2; this project's, not converged on its grid).  The throat's
#: length counts by the thickness of the boundary layer that it leaves: behind one of 10 diameters
#: jets were measured whole to 8 diameters at 2000 and broken up between 8 and 15 at 3500 (open
#: nozzle benchmark).
LEAST_REYNOLDS = 700.0
FAR = 1e6
PLAIN, STEEP = 4900.0, 7000.0
SHORTEST, LENGTH = 0.5, 1.9
#: Length of the ramp, and by what share of the distance behind the throat's end it is longer.
RAMP, GROWING_RAMP = 0.25, 0.9
#: Distance from the throat's start over which a boundary layer turns turbulent, times by how much
#: the throat Reynolds number is above the second figure, below which pipes stay laminar.
BOUNDARY_LAYER, LEAST_OF_PIPES = 2e5, 2000.0
#: How far the working variable relaxes to its first value along the ramp: exp(-DOSE) remains.
DOSE = 5.0


def smooth_step(share: NDArray) -> NDArray:
    """Rise from 0 to 1 where the real part goes from 0 to 1, with slope 0 at both ends."""
    bounded = np.where(share.real > 1, 1, np.where(share.real > 0, share, 0))
    return bounded * bounded * (3 - 2 * bounded)


@dataclass(frozen=True)
class Ramp:
    """What the rule comes to at one flow rate.

    Attributes
    ----------
    place, length : float
        Where the ramp starts and how long it is, scaled.
    dose : float
        What of the working variable remains behind the ramp: exp(-dose), where the velocity is 1.
    first : float
        What it relaxes to.
    """

    place: Any
    length: Any
    dose: Any
    first: Any

    def share(self, axial: NDArray) -> tuple[NDArray, NDArray]:
        """Share of the production, and rate of the relaxation, at distances from the rim plane."""
        along = (axial - self.place) / self.length
        inside = (along.real > 0) & (along.real < 1)
        rate = self.dose / self.length * np.where(inside, 6 * along * (1 - along), 0)
        return smooth_step(along), rate

    def slopes(self, axial: Floats, blur: float = 0.0) -> tuple[Floats, Floats]:
        """Derivatives of both by the axial position and the ramp's four numbers, (5, ...) each.

        With `blur`, a share of the ramp's length, the jumps of the rate's derivative at both ends
        are spread over so much either way: a sum over points has the derivative of its sum then.
        """
        along = (axial - self.place) / self.length
        bounded = np.clip(along, 0, 1)
        bump = 6 * bounded * (1 - bounded)
        if blur:
            # of the parabola: a step of 6 at each end, and a slope of -12 between them
            (first, below), (last, beyond) = _blurred(along, blur), _blurred(along - 1, blur)
            turn = 6 * (first + last) - 12 * (below - beyond)
        else:
            turn = np.where((along > 0) & (along < 1), 6 - 12 * along, 0)
        by_length, scale, nothing = bump * along, self.dose / self.length, np.zeros_like(along)
        share = np.stack([bump, -bump, -by_length, nothing, nothing]) / self.length
        rate = np.stack(
            [turn, -turn, -bump - along * turn, self.length / self.dose * bump, nothing]
        )
        return share, rate * scale / self.length


def _blurred(along: Floats, blur: float) -> tuple[Floats, Floats]:
    """A step at zero spread over `blur` either way, and its integral."""
    step = np.clip((along + blur) / (2 * blur), 0, 1)
    return step, np.where(along > blur, along, blur * step**2)


@dataclass(frozen=True)
class Onset:
    """The rule for one bore; all lengths in throat diameters.

    Attributes
    ----------
    throat_start, throat_end : float
        Distances from the rim plane.
    sharpness : float
        1 for a square edge before the throat, 0 for one so round that the flow follows it.
    shift : float
        Factor of the distances behind the throat's end and a square edge.
    behind_edge : float
        Distance behind a square edge.
    edge_reynolds : (float, float)
        Throat Reynolds numbers between which the place moves to the edge.
    start : float
        First eddy viscosity over throat velocity times diameter.
    """

    throat_start: float
    throat_end: float
    sharpness: float
    shift: float = 1.0
    behind_edge: float = 0.6
    edge_reynolds: tuple[float, float] = (2000.0, 3000.0)
    start: float = 1 / 60

    def behind_throat(self, reynolds: complex) -> complex:
        """Distance behind the throat's end at which a jet turns turbulent; real or complex."""
        if reynolds.real <= LEAST_REYNOLDS:
            return FAR
        length = np.sqrt((self.throat_end - self.throat_start + SHORTEST) / LENGTH)
        return self.shift * length * (PLAIN / reynolds + STEEP / (reynolds - LEAST_REYNOLDS))

    def place(self, reynolds: complex) -> Any:
        """Distance of the place from the rim plane at a throat Reynolds number."""
        low, high = self.edge_reynolds
        at_edge = self.sharpness * smooth_step(np.asarray((reynolds - low) / (high - low)))
        jet = self.throat_end + self.behind_throat(reynolds)
        place = (1 - at_edge) * jet + at_edge * (self.throat_start + self.shift * self.behind_edge)
        if reynolds.real <= LEAST_OF_PIPES:
            return place
        layer = self.throat_start + BOUNDARY_LAYER / (reynolds - LEAST_OF_PIPES)
        return place if place.real < layer.real else layer

    def share(self, axial: Floats, reynolds: complex) -> tuple[NDArray, NDArray]:
        """Share of the production, and rate of the relaxation, at distances from the rim plane."""
        return self.ramp(reynolds).share(axial)

    def ramp(self, reynolds: complex, scale: float = 1.0) -> "Ramp":
        """The ramp at a throat Reynolds number.

        With a scale, the throat's own diameter is that many of those which everything is scaled
        by, and the Reynolds number is that of such a length, both at the same flow rate.
        """
        own = reynolds / scale
        place = self.place(own)
        length = RAMP + GROWING_RAMP * above_zero(place - self.throat_end)
        return Ramp(scale * place, scale * length, DOSE / scale**2, self.start * own)


def above_zero(distance: complex) -> complex:
    """The distance where it is above zero, else 0."""
    return distance if distance.real > 0 else 0 * distance


def onset_in(passage: Passage) -> Onset:
    """The rule's place in a bore."""
    return Onset(passage.throat_start, passage.throat_end, passage.sharpness)
