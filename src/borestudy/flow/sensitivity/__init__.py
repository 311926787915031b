r"""Derivatives of pressure drops and of their slope by the dimensions of a bore, by the adjoint.

A dimension :math:`m` moves the nodes of the mesh with :math:`V = \partial x/\partial m`; triangles
and nodal values stay.  All is scaled by the throat's diameter and mean velocity before the change,
the flow rate being held.  With the weak form :math:`R(u; m)` and a figure's adjoint :math:`z`
(:mod:`borestudy.flow.goal_error`), whose own work no change of :math:`u` inside the bore alters,

.. math:: \frac{dJ}{dm} = z\cdot\frac{\partial R}{\partial m}.

The weak form is an integral :math:`\int f\, r\,dx\,dr` of values and gradients of :math:`u` and
:math:`z`.  When its points move, values stay, gradients and the weight do not:

.. math::
   \delta(\nabla u) = -\nabla V\,\nabla u, \qquad
   \delta(r\,dx\,dr) = \Big(\nabla\cdot V + \frac{V_r}{r}\Big) r\,dx\,dr,

and the integrand depends on the radius, the element's metric (streamline weight), the distances
to the wall and from the rim plane, and the distance to the rim's edge (grad-div).  That is the
derivative of the discrete figure itself, exact but for rounding (shape derivative in volume form:
Delfour & Zolésio 2011, Shapes and Geometries, ch. 9; of the discrete problem: Berggren 2010, A
unified discrete-continuous sensitivity analysis method for shape optimization).  It is assembled
once for each figure and rate into numbers at the nodes, of which every dimension takes a dot
product.

At the rim plane the given velocity falls with the square of the radius, and the adjoint's, which
is that over the flux, with it.  The model itself goes with the bore as well: the grad-div parameter
is a multiple of the throat's own diameter, and where and how the best estimate turns turbulent
follows from the throat (`Model.ramp`).

The slope against the flow rate needs :math:`d/dRe` of this along the branch, with the adjoint's own
tangent :math:`z'` from :math:`R_u^T z' = -(dR_u/dRe)^T z`; both are differences along
:math:`(u', Re)`, one solve with the transposed factors.  Where the best estimate turns turbulent,
the rate of its relaxation has a kink at both ends of a ramp.  A first derivative takes no harm; a
second one, summed point by point, lacks what happens in the kinks themselves, and was wrong by a
factor of two.  For it, and for it alone, they are blurred (`ByPlace.of_ramp`).
"""
