"""What the results say, in sentences."""
