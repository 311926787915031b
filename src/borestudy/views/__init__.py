"""Answers as the front door returns them and the command line prints them.

Each holds a table and has a text of it (`str`), `to_frame` and, where there is something to draw,
`plot`.
"""
