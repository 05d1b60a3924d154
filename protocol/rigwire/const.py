"""`const` for CPython. MicroPython's compiler knows the word itself.

There `_NAME = const(5)` puts the figure where the name is used and keeps no name, which saves a
board some 40 bytes each; a name without `_` stays for other modules. Only for whole numbers.
"""


def const(value: int) -> int:
    """The value."""
    return value
