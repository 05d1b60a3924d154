"""The page: a face over the same use cases as the command line; see serve.py."""
