r"""What rounding a throat entry is worth, and that the change is dissipated nowhere else.

Strong form: ρ (u·∇)u = −∇p + μ ∇²u, ∇·u = 0, uniform velocity at the rim plane, no slip.
Weak form as in ``sudden_expansion.py``.

Identity: what the flow loses of its mechanical energy p + ρu²/2, weighted by the flux, is what
viscosity dissipates,

.. math::
    Q\,\Delta\Big(p + \alpha \tfrac{\rho U^2}{2}\Big) = \int 2\mu\, e(u):e(u)\, dV,

and so is the change from one bore to another.

Numbers: cup 16.2 mm, throat drill 27 (3.66 mm) of 5 mm, 0.05 to 0.15 L/s, air at 25 °C and 50 %.
"""

import borestudy as bs

air = bs.Air("25 degC", "50 %")
axes, flows = None, {}
for entry, colour in {"square": "#D55E00", "rounded 1 mm": "#0072B2"}.items():
    bore = bs.Bore.from_dimensions(
        length="60 mm",
        cup={"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
        throat={"diameter": "drill 27", "length": "5 mm", "entry": entry},
        backbore={"end_diameter": "9 mm"},
    )
    flows[entry] = bs.flow(bore, air, rates="0.05, 0.1 L/s", model="laminar", resolution="coarse")
    axes = flows[entry].plot(axes, color=colour, label=entry)

square, rounded = (flow.rates[0] for flow in flows.values())
lost = square.budget.loss.value - rounded.budget.loss.value
dissipated = square.budget.dissipation.value - rounded.budget.dissipation.value
saved = square.pressure_drop.value - rounded.pressure_drop.value

print(*flows.values(), sep="\n")
print(f"at 0.05 L/s {saved:.2f} Pa less, {lost:.3f} Pa of energy, {dissipated:.3f} Pa dissipated")
assert abs(dissipated / lost - 1) < 0.02
