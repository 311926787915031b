"""What tools cut from a bore that exists: where a cut meets the wall, and what cannot be cut."""
