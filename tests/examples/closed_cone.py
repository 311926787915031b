r"""Resonances of a cone that is closed at both ends, without losses.

Strong form: ∇²p + k² p = 0, no normal velocity on wall and ends.  Weak form, axisymmetric:

.. math::
    2\pi\int (\nabla p\cdot\nabla q - k^2 p q)\, r\,dA = 0 \quad\text{for all } q.

Spherical waves between caps at the distances x₁ and x₂ = x₁ + L from the apex resonate where

.. math::
    \tan kL = \frac{kL}{1 + k^2 x_1 x_2}  \qquad\text{(Pierce, Acoustics, 1981)};

plane ends stretch the cone by 1 + θ²/4, θ its half angle.

Numbers: from 9 mm to 3.66 mm diameter over 72 mm, air at 25 °C and 50 %, up to 6 kHz.
"""

import borestudy as bs
from borestudy.bore import cone
from borestudy.closed_form.cone import plane_face_stretch, resonances

WIDE, NARROW, LENGTH = 4.5e-3, 1.83e-3, 72e-3

air = bs.Air("25 degC", "50 %")
sound = bs.acoustics(
    cone(WIDE, NARROW, LENGTH), air, termination="closed", walls="lossless", to="6 kHz"
)
found = sound.resonances()
exact = resonances(NARROW, WIDE, LENGTH, air.sound_speed, "closed-closed")
exact /= plane_face_stretch(NARROW, WIDE, LENGTH)

axes = sound.plot(label="finite elements")
for order, frequency in enumerate(exact):
    label = "closed form" if order == 0 else None
    axes.axvline(frequency, color="black", linestyle=":", label=label)
axes.legend()

print(f"first resonance {found[0].frequency}, closed form {exact[0]:.3f} Hz")
assert abs(found[0].frequency.value / exact[0] - 1) < 2e-6  # θ⁴, left out of the closed form
