"""Models of the flow, each an argument of the one solver with its own options.

`laminar.Laminar` and `spalart_allmaras.SpalartAllmaras`; what a model gives is said by
:class:`borestudy.flow.model.Model`.  Nothing is imported here, so that what one model needs does
not depend on the other.
"""
