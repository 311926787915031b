"""Finite-element tools of both physics: sparse solves, Newton, continuation, uncertainty."""
