"""The stages of a study, files in and files out: what workflow, command line and notebooks call."""
