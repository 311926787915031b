r"""Friction of a smooth pipe by the Reynolds-averaged equations with the Spalart–Allmaras model.

Strong form, ν_t = χ f_v1(χ) ν the eddy viscosity, χ = ν̃/ν transported by an equation of its own:

.. math::
    \rho\,(u\cdot\nabla)u = -\nabla p + \nabla\cdot[2(\mu + \mu_t)\,e(u)], \qquad \nabla\cdot u = 0.

Weak form, lengths over the diameter D, velocities over the mean U, pressure over ρU²:

.. math::
    \int \Big[(u\cdot\nabla)u\cdot v + \tfrac{2}{Re}(1 + \nu_t/\nu)\, e(u):e(v)
    - p\,\nabla\cdot v + q\,\nabla\cdot u\Big]\, r\,dA = 0 \quad\text{for all } (v, q).

Beside it: 1/√f = 2 lg(Re √f) − 0.8 for the Darcy friction factor (Prandtl, von Kármán, Nikuradse),
about which friction measured in smooth pipes scatters by 2 %.

Numbers: diameter 4 mm, length 240 mm, Reynolds number 10 000, air at 25 °C and 50 %.
"""

import numpy as np
from fluids.friction import Prandtl_von_Karman_Nikuradse
from matplotlib import pyplot

import borestudy as bs
from borestudy.bore.segment import line

DIAMETER, LENGTH, REYNOLDS = 4e-3, 0.24, 1e4

air = bs.Air("25 degC", "50 %")
radius, inlet = DIAMETER / 2, 2 * DIAMETER
bore = bs.Bore(
    [
        line((0, radius), (inlet, radius), "throat"),
        line((inlet, radius), (LENGTH, radius), "backbore"),
    ]
)
rate = REYNOLDS * np.pi / 4 * DIAMETER * air.kinematic_viscosity
flow = bs.flow(bore, air, rates=rate, model="turbulent", resolution="coarse")

(found,) = flow.rates
position, pressure = np.array(found.axis.position_mm), np.array(found.axis.pressure_Pa)
developed = (position > 140) & (position < 220)  # 35 to 55 diameters from the inlet
slope, level = np.polyfit(1e-3 * position[developed], pressure[developed], 1)
friction = -slope * DIAMETER / found.dynamic_pressure_Pa
measured = Prandtl_von_Karman_Nikuradse(REYNOLDS)

_, axes = pyplot.subplots(layout="constrained")
axes.plot(position, pressure, label="on the axis")
law = -measured * found.dynamic_pressure_Pa / DIAMETER
middle = position[developed].mean()
axes.plot(position, law * 1e-3 * (position - middle) + slope * 1e-3 * middle + level, "k--",
          label="Prandtl, von Kármán, Nikuradse")  # fmt: skip
axes.set_xlabel("distance from the inlet, mm")
axes.set_ylabel("pressure, Pa")
axes.legend()

print(flow, f"friction factor {friction:.4f}, law {measured:.4f}", sep="\n")
assert abs(friction / measured - 1) < 0.04  # twice the scatter of measurements
