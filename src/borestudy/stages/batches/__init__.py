"""A study's cases, a batch of them a job, each brought up to date on its own."""
