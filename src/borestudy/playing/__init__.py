"""Lips on a bore and what is behind it: what it takes to start a tone, and the tone."""
