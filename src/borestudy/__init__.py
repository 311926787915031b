"""Compare mouthpiece bores before metal is cut."""

__version__ = "0.1.0"
