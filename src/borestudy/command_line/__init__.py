"""The command line: one command a question, each of which prints lines and writes what is asked."""
