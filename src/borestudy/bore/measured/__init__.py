"""A measured bore: what a file of readings says, and how far its stations may be off."""
