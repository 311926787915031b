"""A few figures that every machine should get, and how far they may be from one another.

Two kinds.  Figures on a mesh that a formula draws differ only by rounding and by where iterations
end.  Figures of a study begin with the mesher, which may draw another mesh of the same settings
elsewhere: those may differ by their numerical uncertainties.
"""
