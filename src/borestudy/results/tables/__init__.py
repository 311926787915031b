"""The result tables of a study, one module a table, and the files they are in."""
