"""The section of a bore for other hands: exact curves for a lathe, and a dimensioned drawing."""

#: Kinds of files that a drawing can be written as.
KINDS = (".dxf", ".pdf", ".svg")
