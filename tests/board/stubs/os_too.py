"""The built-in `os` of this port, and what it lacks."""

from os import *  # noqa: F403 - all of the built-in one


def urandom(count):
    """Not random at all."""
    return bytes(count)
