"""Batches that go wrong on purpose, many at once: a simulated maker, bowl, bar and store."""
