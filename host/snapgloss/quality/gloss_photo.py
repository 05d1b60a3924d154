"""A photo from outside as light: decoded with care, turned upright, made small, made linear."""

import io
import struct
import warnings

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.quality.gloss import Gloss, gloss_of
from snapgloss.quality.gloss_find import Picture

PIXELS_MOST = 60_000_000  # a tablet's camera has 5 to 50 million; a bomb would eat all memory
LONG_SIDE_PX = 1800
_KINDS = ("JPEG", "PNG", "WEBP")
_FAULTS = (OSError, SyntaxError, ValueError, EOFError, struct.error, MemoryError, IndexError,
           KeyError, TypeError, OverflowError, ZeroDivisionError)  # fmt: skip


def gloss_of_photo(content: bytes) -> Gloss:
    """The figure of a photo file. Raises InputError, with what to do, as `gloss_of` does."""
    return gloss_of(light_of(content))


def light_of(content: bytes) -> Picture:
    """The light of a JPEG, PNG or WebP file in linear shares of full scale, rows by columns.

    Linear by sRGB's curve (IEC 61966-2-1, from memory). A camera bends it further in a way that
    nobody knows, which is one reason why figures are relative. Raises InputError for what is none.
    """
    from PIL import Image, ImageOps

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Pillow tells of odd files; here they are seen or not
        try:
            with Image.open(io.BytesIO(content), formats=_KINDS) as picture:
                if picture.width * picture.height > PIXELS_MOST:
                    raise InputError(
                        "The photo has more than 60 million pixels.", "Take a smaller one."
                    )
                picture.draft("RGB", (LONG_SIDE_PX, LONG_SIDE_PX))
                grey = ImageOps.exif_transpose(picture).convert("RGB").convert("L")
        except (*_FAULTS, Image.DecompressionBombError) as problem:
            raise InputError(
                "The photo cannot be read.",
                "Take it as JPEG, PNG or WebP: of a HEIC nobody here can tell how sharp it is.",
            ) from problem
    small = grey.reduce(max(1, -(-max(grey.size) // LONG_SIDE_PX)))
    coded = np.asarray(small, dtype=np.float64) / 255
    linear: Picture = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return linear
