"""Photos as small as they can be, made by Pillow."""

import io
import struct

from PIL import Image


def photo(kind: str = "JPEG", size: tuple[int, int] = (24, 16)) -> bytes:
    """A photo of one brown; kind as Pillow names it, or HEIF."""
    if kind == "HEIF":  # boxes alone: there is no encoder
        boxes = ((b"ftyp", b"heic\0\0\0\0"), (b"meta", bytes(20)), (b"mdat", bytes(40)))
        return b"".join(struct.pack(">I4s", 8 + len(body), name) + body for name, body in boxes)
    made = io.BytesIO()
    Image.new("RGB", size, (66, 40, 24)).save(made, kind)
    return made.getvalue()


JPEG = photo()
