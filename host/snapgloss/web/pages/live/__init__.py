"""The page while it runs."""
