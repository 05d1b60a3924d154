"""base of snapgloss."""
