"""Checks that every study makes: its own mesh settings against answers that are known."""
