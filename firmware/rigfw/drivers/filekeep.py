"""What outlives a reset, as small files: a flash on a board, a folder of the virtual rig.

A file is whole or it is the old one: it is written beside, closed (which is when a littlefs has
it on the flash), then renamed over the old one.
"""

import os

# On Windows `rename` refuses an existing name; MicroPython has only `rename`, which does not.
_rename = getattr(os, "replace", None) or os.rename


class FileKeep:
    """`read` and `write` by name. Both may allocate; writing may take 400 ms of flash."""

    def __init__(self, folder):
        self._folder = folder.rstrip("/") + "/"

    def read(self, name):
        """The bytes kept under this name, b"" when there are none."""
        try:
            with open(self._folder + name, "rb") as file:
                return file.read()
        except OSError:
            return b""

    def write(self, name, data):
        """Keep `data` under this name, whole or not at all. False when the place is full."""
        path = self._folder + name
        try:
            with open(path + ".new", "wb") as file:
                file.write(data)
            _rename(path + ".new", path)
        except OSError:
            return False
        return True
