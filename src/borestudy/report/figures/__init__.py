"""The figures of the report, one module a figure."""
