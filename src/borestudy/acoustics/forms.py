"""The forms of the weak statement, each as it stands on paper (see the package docstring)."""

import numpy as np
from skfem import BilinearForm, LinearForm
from skfem.helpers import dot, grad

TWO_PI = 2 * np.pi


@BilinearForm
def stiffness(p, q, w):  # type: ignore[no-untyped-def]
    """2π ∫ ∇p·∇q r dA"""
    return TWO_PI * dot(grad(p), grad(q)) * w.x[1]


@BilinearForm
def mass(p, q, w):  # type: ignore[no-untyped-def]
    """2π ∫ p q r dA"""
    return TWO_PI * p * q * w.x[1]


def along_wall(p, w):  # type: ignore[no-untyped-def]
    """∂p/∂s with s along the wall, at right angles to its normal"""
    return grad(p)[1] * w.n[0] - grad(p)[0] * w.n[1]


def curvature(w):  # type: ignore[no-untyped-def]
    """κ = n_r / r, the azimuthal curvature of the wall"""
    return w.n[1] / w.x[1]


def viscous_wall(power: int) -> BilinearForm:
    """2π ∫ κⁿ p_s q_s r ds"""

    def form(p, q, w):  # type: ignore[no-untyped-def]
        return TWO_PI * curvature(w) ** power * along_wall(p, w) * along_wall(q, w) * w.x[1]

    return BilinearForm(form)


def thermal_wall(power: int) -> BilinearForm:
    """2π ∫ κⁿ p q r ds"""

    def form(p, q, w):  # type: ignore[no-untyped-def]
        return TWO_PI * curvature(w) ** power * p * q * w.x[1]

    return BilinearForm(form)


@LinearForm
def port_flow(q, w):  # type: ignore[no-untyped-def]
    """2π ∫ q r ds"""
    return TWO_PI * q * w.x[1]
