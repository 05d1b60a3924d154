"""Stands for the built-in `framebuf`: the picture's memory is the firmware's own."""

MONO_VLSB = 0


class FrameBuffer:
    """Takes what it is made of."""

    def __init__(self, buffer, width, height, kind):
        pass
