"""Rigs drawn from a population, the controllers that drive them, and what came of it."""
