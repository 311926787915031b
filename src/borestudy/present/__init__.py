"""Figures and the one-file report, made from the result tables, the case results and the fields."""
