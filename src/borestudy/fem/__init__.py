"""What both physics share in finite elements: sparse factorisation and grid uncertainty."""
