"""schedules of snapgloss."""
