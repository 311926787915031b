"""Solutions that need no finite elements, so that they can check the finite elements."""
