"""How large the frames of a clip are, from its container's header: judged before any decoder sees the file.

Only what names a frame's size is looked at. What cannot be followed gives no size, and the decoder is not asked.
"""

import struct
from collections.abc import Iterator
from itertools import islice
from typing import BinaryIO, Final

from tracelabels.scanning.signatures import ClipKind

FrameSize = tuple[int, int]
"""Width and height in pixels."""

_LARGEST_HEADER: Final = 2 * 1024 * 1024
_MOST_ELEMENTS: Final = 10_000
_MOST_ENTRIES: Final = 100
_BOXES: Final = frozenset({b"moov", b"trak", b"mdia", b"minf", b"stbl"})
"""Boxes of ISO/IEC 14496-12 on the way to a track's sample descriptions (8.1.1)."""
_SEGMENT, _TRACKS, _TRACK, _VIDEO = 0x18538067, 0x1654AE6B, 0xAE, 0xE0
_WIDTH, _HEIGHT, _CLUSTER = 0xB0, 0xBA, 0x1F43B675
"""Elements of Matroska (RFC 9559, 5.1)."""


def frame_sizes(stream: BinaryIO, kind: ClipKind) -> tuple[FrameSize, ...]:
    """Return the sizes that the header names, one or more for each track of pictures; empty if there are none.

    Args:
        stream: the file, at its start; it is left somewhere else.
        kind: its container.
    """
    try:
        match kind:
            case ClipKind.MP4:
                return tuple(_in_boxes(memoryview(_movie_box(stream))))
            case ClipKind.MATROSKA:
                return tuple(_in_matroska(memoryview(stream.read(_LARGEST_HEADER))))
            case ClipKind.AVI:
                return tuple(_in_avi(memoryview(stream.read(_LARGEST_HEADER))))
    except struct.error:
        return ()


def _movie_box(stream: BinaryIO) -> bytes:
    """Return the box of type ``moov``, which may stand at either end of the file."""
    for _ in range(_MOST_ELEMENTS):
        at = stream.tell()
        head = stream.read(16)
        size, kind = struct.unpack_from(">I4s", head)
        if size == 1:
            [size] = struct.unpack_from(">Q", head, 8)
        if kind == b"moov":
            stream.seek(at)
            return stream.read(min(size or _LARGEST_HEADER, _LARGEST_HEADER))
        if size < 8:  # noqa: PLR2004  a box is at least its own head; 0 reaches to the end of the file
            return b""
        stream.seek(at + size)
    return b""


def _in_boxes(content: memoryview) -> Iterator[FrameSize]:
    """Give the sizes of a track (16.16 fixed point) and of its sample descriptions: ISO/IEC 14496-12, 8.3.2, 12.1.3."""
    for kind, inner in islice(_boxes_within(content), _MOST_ELEMENTS):
        if kind == b"tkhd":
            wide, high = struct.unpack(">II", inner[-8:])
            yield from _if_any(wide >> 16, high >> 16)
        elif kind == b"stsd":
            for _, entry in islice(_boxes(inner[8:]), _MOST_ENTRIES):
                if len(entry) >= 28:  # noqa: PLR2004  width and height stand at 24 and 26 of what follows the head
                    yield from _if_any(*struct.unpack_from(">HH", entry, 24))


def _boxes_within(content: memoryview) -> Iterator[tuple[bytes, memoryview]]:
    """Give every box, those inside others too."""
    pending = [content]
    while pending:
        for kind, inner in _boxes(pending.pop()):
            yield kind, inner
            if kind in _BOXES:
                pending.append(inner)


def _if_any(width: int, height: int) -> Iterator[FrameSize]:
    """Give a size, unless it is none: a track of sound has none."""
    if width and height:
        yield width, height


def _boxes(content: memoryview) -> Iterator[tuple[bytes, memoryview]]:
    """Give the type and the inside of each box; the last may be cut off."""
    at = 0
    while len(content) - at >= 8:  # noqa: PLR2004  a box's head
        size, kind = struct.unpack_from(">I4s", content, at)
        head = 8
        if size == 1:
            [size], head = struct.unpack_from(">Q", content, at + 8), 16
        if size < head:
            return
        yield kind, content[at + head : at + size]
        at += size


def _in_matroska(content: memoryview) -> Iterator[FrameSize]:
    """Give the size of each track of pictures; its two sides follow each other."""
    sides: dict[int, int] = {}
    for name, inner in islice(_elements_within(content), _MOST_ELEMENTS):
        if name in {_WIDTH, _HEIGHT}:
            sides[name] = int.from_bytes(inner)
        if len(sides) == 2:  # noqa: PLR2004  both sides
            yield sides[_WIDTH], sides[_HEIGHT]
            sides.clear()


def _elements_within(content: memoryview) -> Iterator[tuple[int, memoryview]]:
    """Give every element before the pictures themselves, those inside others too."""
    pending = [content]
    while pending:
        for name, inner in _elements(pending.pop()):
            if name == _CLUSTER:
                break
            yield name, inner
            if name in {_SEGMENT, _TRACKS, _TRACK, _VIDEO}:
                pending.append(inner)


def _elements(content: memoryview) -> Iterator[tuple[int, memoryview]]:
    """Give the name and the inside of each element of EBML (RFC 8794, 4 to 6); one of unknown size goes to the end."""
    at = 0
    while at < len(content):
        length = 9 - content[at].bit_length()
        name = int.from_bytes(content[at : at + length])
        at += length
        if at >= len(content) or not content[at]:
            return
        length = 9 - content[at].bit_length()
        unknown = (1 << 7 * length) - 1
        size = int.from_bytes(content[at : at + length]) & unknown
        at += length
        yield name, content[at:] if size == unknown else content[at : at + size]
        at += size


def _in_avi(content: memoryview) -> Iterator[FrameSize]:
    """Give the size in the main header and in each picture stream's format (OpenDML AVI 1.02 [M])."""
    for kind, inner in islice(_chunks(content[12:]), _MOST_ELEMENTS):
        if kind == b"LIST" and bytes(inner[:4]) == b"hdrl":
            yield from _in_avi_header(inner[4:], is_picture=False)
            return


def _in_avi_header(content: memoryview, *, is_picture: bool) -> Iterator[FrameSize]:
    for kind, inner in islice(_chunks(content), _MOST_ELEMENTS):
        if kind == b"avih":
            yield from _if_any(*struct.unpack_from("<II", inner, 32))
        elif kind == b"LIST" and bytes(inner[:4]) == b"strl":
            yield from _in_avi_header(inner[4:], is_picture=False)
        elif kind == b"strh":
            is_picture = bytes(inner[:4]) == b"vids"
        elif kind == b"strf" and is_picture:
            width, height = struct.unpack_from("<ii", inner, 4)
            yield from _if_any(abs(width), abs(height))


def _chunks(content: memoryview) -> Iterator[tuple[bytes, memoryview]]:
    """Give the name and the inside of each chunk of RIFF; the last may be cut off."""
    at = 0
    while len(content) - at >= 8:  # noqa: PLR2004  a chunk's head
        kind, size = struct.unpack_from("<4sI", content, at)
        yield kind, content[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
