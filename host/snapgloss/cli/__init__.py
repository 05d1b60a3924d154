"""The command line: one face over the use cases of snapgloss.runs."""
