"""runs of snapgloss."""
