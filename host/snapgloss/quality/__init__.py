"""quality of snapgloss."""
