"""Rows of the Reynolds-averaged flow."""
