"""What every study checks: its own mesh settings against answers that are known."""
