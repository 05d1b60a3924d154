"""cli of snapgloss."""
