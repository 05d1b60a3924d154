"""report of snapgloss."""
