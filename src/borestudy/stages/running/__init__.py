"""A whole study by one command: Snakemake with the workflow of this package, its cost, its end."""
