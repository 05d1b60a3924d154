"""link of snapgloss."""
