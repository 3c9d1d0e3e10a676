"""Pictures from outside: what is no picture, or too large a one, is refused in a sentence before it is decoded."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image

from spoolwright.errors import BadInput
from spoolwright.sheet.pictures import KEPT_SIDE, read


def _png(width: int, height: int, mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    Image.new(mode, (width, height), "white").save(out, "PNG")
    return out.getvalue()


def _claims(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose head claims this size."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


def test_a_picture__is_kept_as_png_of_its_size() -> None:
    kept = read("map.png", _png(640, 480))
    assert (kept.width, kept.height) == (640, 480)
    assert kept.data.startswith(b"\x89PNG")


def test_a_large_picture__is_made_smaller() -> None:
    assert max(read("map.png", _png(3000, 1000, "L")).width, 1) == KEPT_SIDE


def test_what_hid_in_the_file__is_gone() -> None:
    out = io.BytesIO()
    Image.new("RGB", (20, 20)).save(out, "JPEG", comment=b"secret place")
    assert b"secret place" in out.getvalue()
    assert b"secret place" not in read("a.jpg", out.getvalue()).data


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("noise.png", bytes(range(256)) * 200, "no picture"),
        ("drawing.svg", b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "no picture"),
        ("wide.png", _claims(20000, 20000), "far too many pixels"),
        ("long.png", _claims(20000, 1000), "20000 by 1000 pixels"),
        ("bomb.png", _claims(60000, 60000), "far too many pixels"),
        ("cut.png", _png(200, 200)[:80], "no picture"),
        ("big.png", b"\x89PNG" + bytes(20_000_001), "larger than"),
        ("empty.png", b"", "no picture"),
    ],
)
def test_what_is_none__is_refused_in_one_sentence(name: str, data: bytes, said: str) -> None:
    with pytest.raises(BadInput, match=said) as told:
        read(name, data)
    assert name in str(told.value)
