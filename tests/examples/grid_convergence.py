r"""The observed order of a resonance on three meshes, and whether ± holds what it promises.

Strong form: ∇²p + k² p = 0, no normal velocity on wall and ends.  Weak form, axisymmetric:

.. math::
    2\pi\int (\nabla p\cdot\nabla q - k^2 p q)\, r\,dA = 0 \quad\text{for all } q.

With pressures of second degree the frequency's error, the square of the pressure's in energy, falls
as h⁴ where one mesh is the other made finer; meshes that gmsh makes anew fall a little short of it.
From three whose sizes differ by r = 1.5:

.. math::
    p = \ln\frac{f_0 - f_1}{f_1 - f_2} \Big/ \ln r, \qquad f_{exact} = n c / 2L.

Numbers: a closed cylinder of 16 mm diameter and 40 mm length, air at 25 °C and 50 %, up to 14 kHz.
"""

import numpy as np
from matplotlib import pyplot

import borestudy as bs
from borestudy.bore import cylinder

RADIUS, LENGTH, RATIO = 8e-3, 40e-3, 1.5

air = bs.Air("25 degC", "50 %")
sound = bs.acoustics(
    cylinder(RADIUS, LENGTH), air, termination="closed", walls="lossless", to="14 kHz"
)
frequency = sound.resonances()[2].frequency
exact = 3 * air.sound_speed / (2 * LENGTH)
errors = np.abs(np.array(frequency.levels) - exact)
steps = np.abs(np.diff(frequency.levels))
order = np.log(steps[0] / steps[1]) / np.log(RATIO)

_, axes = pyplot.subplots(layout="constrained")
axes.semilogy(errors, "o-", label=f"error, observed order {order:.1f}")
axes.semilogy(errors[0] * RATIO ** (-4.0 * np.arange(3)), "k--", label="fourth order")
axes.semilogy(2, frequency.uncertainty, "D", label="uncertainty stated for the finest mesh")
axes.set_xticks([0, 1, 2])
axes.set_xlabel("mesh, 0 to 2, each 1.5 times finer")
axes.set_ylabel("error of the third resonance, Hz")
axes.legend()

print(f"third resonance {frequency}, exact {exact:.2f} Hz, observed order {order:.2f}")
assert abs(frequency.value - exact) < frequency.uncertainty
