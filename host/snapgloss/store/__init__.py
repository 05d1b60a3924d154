"""store of snapgloss."""
