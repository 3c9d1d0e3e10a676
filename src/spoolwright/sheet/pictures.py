"""Pictures from outside: checked before they are decoded, written anew without anything that hid in them.

Only PNG, JPEG and WebP are read, by size first: a small file can claim a picture that fills the memory.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

from spoolwright.errors import BadInput
from spoolwright.sheet.faults import shown

FORMATS = ("PNG", "JPEG", "WEBP")
MOST_BYTES = 20_000_000
MOST_SIDE = 8000  # px
MOST_PIXELS = 30_000_000
KEPT_SIDE = 2400  # px of the picture as kept


@dataclass(frozen=True)
class Picture:
    """A picture as kept: PNG bytes, width and height in px."""

    data: bytes
    width: int
    height: int


def read(name: str, data: bytes) -> Picture:
    """The picture in ``data``, turned as its camera meant, at most KEPT_SIDE px wide or high. Raises BadInput."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(data) > MOST_BYTES:
        raise BadInput(f"{shown(name)} is larger than {MOST_BYTES / 1e6:.0f} MB; take a smaller picture")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                width, height = opened.size
                if max(width, height) > MOST_SIDE or width * height > MOST_PIXELS:
                    raise BadInput(
                        f"{shown(name)} has {width} by {height} pixels; at most {MOST_SIDE} a side and "
                        f"{MOST_PIXELS / 1e6:.0f} million are read; make it smaller"
                    )
                turned = ImageOps.exif_transpose(opened)
                plain = turned.convert("RGB")
    except BadInput:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise BadInput(
            f"{shown(name)} has far too many pixels; at most {MOST_PIXELS / 1e6:.0f} million are read; make it smaller"
        ) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Warning):
        raise BadInput(f"{shown(name)} is no picture that can be read; PNG, JPEG and WebP are") from None
    plain.thumbnail((KEPT_SIDE, KEPT_SIDE))
    out = io.BytesIO()
    plain.save(out, "PNG", optimize=False)
    return Picture(out.getvalue(), plain.width, plain.height)
