"""The report of a study of many bores: what they have in common, and the few that stand out."""

#: Up to this many cases each is a row and a line of the report; more are summed up.
FEW_CASES = 60
