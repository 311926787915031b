r"""Developed laminar flow through a straight pipe.

Strong form: ρ (u·∇)u = −∇p + μ ∇²u, ∇·u = 0, a parabola at the inlet, no slip at the wall.
Weak form, lengths over the diameter D, velocities over the mean U, pressure over ρU²:

.. math::
    \int \Big[(u\cdot\nabla)u\cdot v + \frac{1}{Re}\Big(\nabla u:\nabla v + \frac{u_r v_r}{r^2}\Big)
    - p\,\nabla\cdot v + q\,\nabla\cdot u\Big]\, r\,dA = 0 \quad\text{for all } (v, q).

Closed form (Hagen 1839, Poiseuille 1840): Δp = 8 μ L Q / (π R⁴).

Numbers: diameter 3.66 mm, length 40 mm, 0.02 to 0.08 L/s, air at 25 °C and 50 %.
"""

import numpy as np

import borestudy as bs
from borestudy.bore import cylinder
from borestudy.closed_form.pipe_flow import developed_flow_drop

RADIUS, LENGTH = 1.83e-3, 40e-3

air = bs.Air("25 degC", "50 %")
flow = bs.flow(
    cylinder(RADIUS, LENGTH), air, rates="0.02, 0.04, 0.08 L/s", inlet="developed",
    model="laminar", resolution="coarse",
)  # fmt: skip
drop = flow.pressure_drop

axes = flow.plot()
rates = np.linspace(0, 0.09, 50)
axes.plot(rates, developed_flow_drop(air, RADIUS, LENGTH, 1e-3 * rates), "k--", label="8 μLQ/πR⁴")
axes.legend()

exact = developed_flow_drop(air, RADIUS, LENGTH, 8e-5)
print(flow, f"closed form at 0.08 L/s: {exact:.3f} Pa", sep="\n")
assert abs(drop.value[-1] / exact - 1) < 1e-4
