"""From readings to figures, and from figures to sentences."""
