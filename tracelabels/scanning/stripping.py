"""A photograph without what it says besides its pixels: place, time, camera, thumbnail, comments, pictures behind it.

A JPEG is stripped without loss: only the segments that its picture needs are copied (ITU-T T.81, B.1 and B.2; JFIF and
Adobe segments, which say how its colours are meant, are written anew without thumbnail), and how it is turned is said
in a block of its own. Every other kind is decoded, turned upright and written as PNG, pixel for pixel.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from PIL import Image, ImageOps

from tracelabels.errors import PictureError
from tracelabels.scanning.loading import guarded, open_image
from tracelabels.scanning.refusals import DEFAULT_LIMITS, EXPECTED, broken, require_length, require_size, truncated
from tracelabels.scanning.signatures import HEAD_LENGTH, FileKind, find_kind

_SOI, _EOI, _SOS, _APP0, _APP14 = 0xD8, 0xD9, 0xDA, 0xE0, 0xEE
_RESTARTS: Final = range(0xD0, 0xD8)
_NEEDED: Final = frozenset({*range(0xC0, 0xD0), 0xDB, 0xDC, 0xDD, 0xDE, 0xDF}) - {0xC8}
"""Frames, tables, restart intervals and line counts: T.81, table B.1; C8 is reserved."""
_PLAIN_JFIF: Final = b"JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"
_ADOBE_LENGTH: Final = 12
_ORIENTATION: Final = 0x0112
_UPRIGHT: Final = 1
_SAVED_AS_THEY_ARE: Final = frozenset({"1", "L", "LA", "I;16", "RGB", "RGBA"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Stripped:
    """A picture that holds its pixels and nothing else."""

    content: bytes
    """The file."""
    media_type: str
    """``image/jpeg`` or ``image/png``."""


def find_picture_kind(content: bytes) -> FileKind | None:
    """Return the kind of picture (or PDF) that a file is, by its first bytes; None if it is neither."""
    return find_kind(content[:HEAD_LENGTH])


def strip_picture(content: bytes, *, name: str) -> Stripped:
    """Return a photograph without anything but its pixels.

    Raises:
        PictureError: it is no photograph, broken, too large, or holds several pictures.
    """
    require_length(len(content), name, DEFAULT_LIMITS)
    kind = find_picture_kind(content)
    if kind is None or kind is FileKind.PDF:
        raise PictureError(given=f"{name}, which is no photograph", expected=EXPECTED, remedy="choose another file")
    with guarded(name, DEFAULT_LIMITS), open_image(io.BytesIO(content), kind, name) as image:
        require_size(*image.size, name, DEFAULT_LIMITS)
        if kind is FileKind.JPEG:
            orientation = int(image.getexif().get(_ORIENTATION, _UPRIGHT))
            stripped = b"".join(_stripped_jpeg(content, orientation, name))
            _require_readable(stripped)
            return Stripped(content=stripped, media_type="image/jpeg")
        if getattr(image, "n_frames", 1) > 1:
            raise PictureError(
                given=f"{name}, which holds several pictures",
                expected="one picture in each file",
                remedy="save each page by itself, or as a PDF",
            )
        return Stripped(content=_as_png(image), media_type="image/png")


def _require_readable(content: bytes) -> None:
    """See that what will be kept can be opened to its end; a decoder's error is told by the caller."""
    with Image.open(io.BytesIO(content), formats=["JPEG"]) as image:
        image.load()


def _as_png(image: Image.Image) -> bytes:
    image.load()
    upright = ImageOps.exif_transpose(image)
    if upright.mode not in _SAVED_AS_THEY_ARE:
        upright = upright.convert("RGBA" if "transparency" in upright.info else "RGB")
    bare = Image.new(upright.mode, upright.size)
    bare.paste(upright)
    written = io.BytesIO()
    bare.save(written, format="PNG", compress_level=6)
    return written.getvalue()


def _stripped_jpeg(content: bytes, orientation: int, name: str) -> Iterator[bytes]:
    yield bytes([0xFF, _SOI])
    for marker, segment in _segments(content, name):
        if marker == _APP0 and segment[4:9] == b"JFIF\x00":
            yield _segment(_APP0, _PLAIN_JFIF)
        elif marker == _APP14 and segment[4:9] == b"Adobe" and len(segment) == _ADOBE_LENGTH + 4:
            yield segment
        elif marker in _NEEDED or marker == _SOS:
            if marker != _SOS and orientation != _UPRIGHT:
                yield _segment(0xE1, _turned(orientation))
                orientation = _UPRIGHT
            yield segment
    yield bytes([0xFF, _EOI])


def _segments(content: bytes, name: str) -> Iterator[tuple[int, bytes]]:
    """Give (marker, whole segment) up to the end of the picture; a scan comes with its coded data."""
    at = 2
    while True:
        while content[at : at + 2] == b"\xff\xff":  # fill bytes: T.81, B.1.1.2
            at += 1
        if len(content) < at + 4 and content[at : at + 2] != bytes([0xFF, _EOI]):
            raise truncated(name)
        if content[at] != 0xFF:  # noqa: PLR2004  every marker begins with it
            raise broken(name, ValueError("no marker"))
        marker = content[at + 1]
        if marker == _EOI:
            return
        end = at + 2 + int.from_bytes(content[at + 2 : at + 4])
        if marker == _SOS:
            end = _end_of_scan(content, end, name)
        yield marker, content[at:end]
        at = end


def _end_of_scan(content: bytes, at: int, name: str) -> int:
    """Return where the next marker after coded data stands; stuffed zeros and restarts belong to the data."""
    while True:
        at = content.find(b"\xff", at)
        if at < 0 or at + 1 >= len(content):
            raise truncated(name)
        following = content[at + 1]
        if following == 0xFF:  # noqa: PLR2004  a fill byte
            at += 1
        elif following == 0 or following in _RESTARTS:
            at += 2
        else:
            return at


def _segment(marker: int, payload: bytes) -> bytes:
    return bytes([0xFF, marker]) + (len(payload) + 2).to_bytes(2) + payload


def _turned(orientation: int) -> bytes:
    """Return an Exif block (CIPA DC-008) of one entry: how the picture is turned."""
    entry = _ORIENTATION.to_bytes(2) + (3).to_bytes(2) + (1).to_bytes(4) + orientation.to_bytes(2) + b"\x00\x00"
    return b"Exif\x00\x00MM\x00*" + (8).to_bytes(4) + (1).to_bytes(2) + entry + (0).to_bytes(4)
