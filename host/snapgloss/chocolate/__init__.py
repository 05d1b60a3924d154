"""chocolate of snapgloss."""
