"""Charts that a browser draws from the same tables, and what switches, sorts and searches."""
