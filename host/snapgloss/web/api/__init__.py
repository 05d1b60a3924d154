"""A JSON API over the same use cases as the command line, beside the pages."""
