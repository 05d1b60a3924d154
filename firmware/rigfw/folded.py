"""`const`: on the board the compiler folds a name that begins with a dash into the code, where it
takes no room in a module; here it is the number itself."""


def const(value):
    """The value."""
    return value
