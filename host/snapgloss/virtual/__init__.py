"""virtual of snapgloss."""
