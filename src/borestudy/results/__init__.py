"""Typed records of many cases, what changes between them, and the tables."""
