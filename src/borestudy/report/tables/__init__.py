"""Result tables as a reader sees them."""
