"""rigs of snapgloss."""
