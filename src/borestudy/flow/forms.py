r"""Weak form of steady axisymmetric incompressible flow, scalar block by scalar block.

Lengths are scaled by the throat's diameter, velocity by its mean velocity :math:`U` and pressure
by :math:`\rho U^2`.  Strong form, with :math:`e(u)` the symmetric gradient,

.. math::
   (u\cdot\nabla)u + \nabla p - \tfrac{2}{Re}\nabla\cdot e(u) = 0, \qquad \nabla\cdot u = 0.

Weak form, with the weight :math:`r` of a body of revolution: for all :math:`v`, :math:`q`

.. math::
   \int \Big[ (u\cdot\nabla u)\cdot v
   + \tfrac{2}{Re}\Big(e(u):e(v) + \frac{u_r v_r}{r^2}\Big)
   - p\,\nabla\cdot v + \gamma\,(\nabla\cdot u)(\nabla\cdot v) \Big] r \,dx\,dr
   &= \int_\Gamma t\cdot v\, r\,ds, \\
   -\int q\,\nabla\cdot u\; r\,dx\,dr &= 0,

where :math:`\nabla\cdot u = \partial_x u_x + \partial_r u_r + u_r/r`, :math:`u_r v_r / r^2` is the
hoop term and :math:`t = -p n + (2/Re) e(u) n` the traction on the boundary: zero at a free outlet.
The last term of the first line is grad-div stabilisation (Olshanskii & Reusken 2004,
Math. Comp. 73, 1699), which is zero for the exact solution.  Its share fades out towards the edge
where a uniform inlet meets the wall: the velocity jumps there, so no mesh makes the divergence
small, and penalising it would raise the inlet's pressure by an amount that does not converge away.

Each bilinear form below is one block of that, between scalar test and trial functions; the
block's name is *test component*, *trial component*.  Convection changes at every Newton step and
is assembled from precomputed tables in :mod:`borestudy.flow.convection`.
"""

from typing import Any

from numpy.typing import NDArray
from skfem import BilinearForm

from borestudy.fem import Floats


@BilinearForm
def viscous_xx(u: Any, v: Any, w: Any) -> NDArray:
    r"""2 e(u):e(v) of axial test and axial trial."""
    return (2 * u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) * w.x[1]


@BilinearForm
def viscous_xr(u: Any, v: Any, w: Any) -> NDArray:
    r"""2 e(u):e(v) of axial test and radial trial."""
    return u.grad[0] * v.grad[1] * w.x[1]


@BilinearForm
def viscous_rr(u: Any, v: Any, w: Any) -> NDArray:
    r"""2 e(u):e(v) of radial test and radial trial, with the hoop term."""
    r = w.x[1]
    return (u.grad[0] * v.grad[0] + 2 * u.grad[1] * v.grad[1] + 2 * u * v / r**2) * r


@BilinearForm
def grad_div_xx(u: Any, v: Any, w: Any) -> NDArray:
    """Product of the divergences of axial test and axial trial."""
    return w.share * u.grad[0] * v.grad[0] * w.x[1]


@BilinearForm
def grad_div_xr(u: Any, v: Any, w: Any) -> NDArray:
    """Product of the divergences of axial test and radial trial."""
    return w.share * (u.grad[1] + u / w.x[1]) * v.grad[0] * w.x[1]


@BilinearForm
def grad_div_rr(u: Any, v: Any, w: Any) -> NDArray:
    """Product of the divergences of radial test and radial trial."""
    r = w.x[1]
    return w.share * (u.grad[1] + u / r) * (v.grad[1] + v / r) * r


@BilinearForm
def divergence_x(u: Any, q: Any, w: Any) -> NDArray:
    """Divergence of the axial component against a pressure test function."""
    return -u.grad[0] * q * w.x[1]


@BilinearForm
def divergence_r(u: Any, q: Any, w: Any) -> NDArray:
    """Divergence of the radial component against a pressure test function."""
    return -(u.grad[1] + u / w.x[1]) * q * w.x[1]


def momentum_integrand(
    state: NDArray, viscosity: NDArray | complex, radius: Floats, out: NDArray
) -> None:
    """Convection and viscous stress point by point, against the tests' values and slopes.

    Parameters
    ----------
    state : ndarray, shape (6, ...), real or complex
        Value, axial and radial derivative of the axial velocity, then of the radial velocity.
    viscosity : ndarray or scalar
        (1 + eddy viscosity over ν) / Re.
    radius : ndarray
        Radii of the points.
    out : ndarray, shape (6, ...)
        What is multiplied with value, axial and radial derivative of the axial test, then of the
        radial test.
    """
    u, u_x, u_r, w, w_x, w_r = state
    shear = viscosity * (u_r + w_x)
    out[0] = u * u_x + w * u_r
    out[1] = 2 * viscosity * u_x
    out[2] = shear
    out[3] = u * w_x + w * w_r + 2 * viscosity * w / radius**2
    out[4] = shear
    out[5] = 2 * viscosity * w_r


def momentum_derivative(
    state: Floats, viscosity: Floats, by_own: Floats, radius: Floats
) -> dict[tuple[int, int], Floats]:
    """Derivative of `momentum_integrand`: its entries that are not zero, by row and column.

    Parameters
    ----------
    state, viscosity, radius
        See `momentum_integrand`.
    by_own : ndarray
        Derivative of the viscosity by a model's own field, which is column 6.
    """
    u, u_x, u_r, w, w_x, w_r = state
    twice, shear = 2 * viscosity, by_own * (u_r + w_x)
    return {
        (0, 0): u_x,
        (0, 1): u,
        (0, 2): w,
        (0, 3): u_r,
        (1, 1): twice,
        (1, 6): 2 * by_own * u_x,
        (2, 2): viscosity,
        (2, 4): viscosity,
        (2, 6): shear,
        (3, 0): w_x,
        (3, 3): w_r + twice / radius**2,
        (3, 4): u,
        (3, 5): w,
        (3, 6): 2 * by_own * w / radius**2,
        (4, 2): viscosity,
        (4, 4): viscosity,
        (4, 6): shear,
        (5, 5): twice,
        (5, 6): 2 * by_own * w_r,
    }
