r"""Resonances of a closed cylinder with viscous and thermal losses at its wall.

Strong form, time factor exp(+iωt), k = ω/c, boundary layers condensed into the wall:

.. math::
    \nabla^2 p + k^2 p = 0, \qquad
    \partial_n p = \partial_s (a_V\,\partial_s p) - a_T(\gamma-1)k^2\,p \ \text{on the wall}.

Weak form, axisymmetric, g the normal derivative that drives the rim plane:

.. math::
    2\pi\int (\nabla p\cdot\nabla q - k^2 p q)\, r\,dA
    + 2\pi\int_{wall} [a_V\,p_s q_s + a_T(\gamma-1)k^2\,p q]\, r\,ds = 2\pi\int_{rim} g\,q\,r\,ds.

Closed form (Zwikker & Kosten 1949): p/U = Z_c coth ΓL, and the rigid end's thermal admittance.

Numbers: diameter 12 mm, length 120 mm, air at 25 °C and 50 % humidity, 50 Hz to 5 kHz.
"""

import numpy as np

import borestudy as bs
from borestudy.bore import cylinder
from borestudy.closed_form.tube import thermal_end_admittance, transfer_matrix

RADIUS, LENGTH = 6e-3, 0.12

air = bs.Air("25 degC", "50 %")
sound = bs.acoustics(cylinder(RADIUS, LENGTH), air, termination="closed")
first = sound.resonances()[0]

frequency = np.linspace(1300, 1550, 20001)
omega = 2 * np.pi * frequency
chain = transfer_matrix(RADIUS, LENGTH, omega, air)
wall = thermal_end_admittance(RADIUS, omega, air)
exact = (chain[:, 0, 0] + chain[:, 0, 1] * wall) / (chain[:, 1, 0] + chain[:, 1, 1] * wall)
peak = frequency[np.argmax(abs(exact))]

axes = sound.plot(label="finite elements")
axes.plot(frequency, 1e-6 * abs(exact), "--", color="black", label="closed form")
axes.legend(loc="lower left")

print(f"first resonance {first.frequency}, closed form {peak:.2f} Hz")
assert abs(first.frequency.value - peak) < first.frequency.uncertainty
