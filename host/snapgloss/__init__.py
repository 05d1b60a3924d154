"""Host software of the snapgloss tempering rig."""

from rigfw.version import __version__

__all__ = ["__version__"]
