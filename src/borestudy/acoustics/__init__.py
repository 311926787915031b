r"""Linear acoustics of a bore between its rim plane and its shank end.

Strong form, time factor :math:`e^{+i\omega t}`, :math:`k = \omega/c`:

.. math::
    \nabla^2 p + k^2 p = 0 \ \text{in the bore}, \qquad
    \partial_n p = \partial_s (a_V\,\partial_s p) - a_T(\gamma-1)k^2\,p \ \text{on the wall},

the thin viscous and thermal layers being condensed into the wall.  Axisymmetric weak form, ``s``
along the wall, ``g`` the normal derivative prescribed on a port (rim plane or shank end):

.. math::
    2\pi\int [\nabla p\cdot\nabla q - k^2 p q]\, r\,dA
    + 2\pi\int_{wall} [a_V\,p_s q_s + a_T(\gamma-1)k^2\,p q]\, r\,ds
    = g\,\Big[2\pi\int_{port} q\,r\,ds + 2\pi a\,\frac{a_V}{t\cdot n}\,q(edge)\Big].

The edge term is what integration by parts along the wall leaves where wall and port meet
(``t`` along the wall and out of the bore, ``n`` normal to the port): the flow in the layer is part
of the port's flow, :math:`U = g\,(S + 2\pi a\,a_V/(t\cdot n))/(i\omega\rho)`, with the sign that
counts flow *into* the bore.

Wall coefficients.  On a plane wall :math:`a_V = -w_V`, :math:`w_V = (1-i)\delta_V/2`.  On a
tube of radius :math:`a` the exact value is :math:`-(a/2) f(k_v a) = -w\,I_1(z)/I_0(z)` with
:math:`z = a/w`; its expansion for thin layers, :math:`a_V = -w\,(1 - w\kappa/2 -
w^2\kappa^2/8 - \dots)`, is used with the *local* azimuthal curvature :math:`\kappa = n_r/r`.  A
plane end wall then has κ = 0 by itself, the bottom of a cup nearly so, and every term is a real
symmetric matrix times a function of frequency.

References
----------
Berggren, M., Bernland, A. & Noreland, D. (2018), arXiv:1801.04177: the wall condition.
Zwikker, C. & Kosten, C. W. (1949), Sound Absorbing Materials: the tube (from memory).
"""
