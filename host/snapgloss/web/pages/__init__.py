"""The pages: one folder each, listed in registry.py."""
