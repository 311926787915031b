"""Sentences, figures, tables and the one-file report of a study."""
