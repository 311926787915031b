"""Bores solved one by one in a process, and the way back from a wish to a bore."""
