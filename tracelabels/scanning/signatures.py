"""Which kind of file this is, told by its first bytes and by nothing else (a file's name may lie)."""

from enum import StrEnum

HEAD_LENGTH = 1024
"""Bytes that are enough to tell.

Readers look for a PDF's mark in the first 1,024 bytes (ISO 32000-1, Annex H, note 13) [M].
"""


class FileKind(StrEnum):
    """The kinds of file that are read, by the decoder's name for them."""

    JPEG = "JPEG"
    PNG = "PNG"
    WEBP = "WEBP"
    TIFF = "TIFF"
    GIF = "GIF"
    BMP = "BMP"
    HEIC = "HEIC"
    PDF = "PDF"


class ClipKind(StrEnum):
    """The kinds of film that are read, by their container."""

    MP4 = "MP4"
    """MP4, M4V, 3GP and QuickTime: boxes."""
    MATROSKA = "MATROSKA"
    """Matroska and WebM."""
    AVI = "AVI"


_MARKS: tuple[tuple[bytes, FileKind], ...] = (
    (b"\xff\xd8\xff", FileKind.JPEG),  # ITU-T T.81: SOI and the first byte of the next marker
    (b"\x89PNG\r\n\x1a\n", FileKind.PNG),  # W3C PNG, 5.2
    (b"II*\x00", FileKind.TIFF),  # TIFF 6.0, section 2
    (b"MM\x00*", FileKind.TIFF),
    (b"II+\x00", FileKind.TIFF),  # BigTIFF
    (b"MM\x00+", FileKind.TIFF),
    (b"GIF87a", FileKind.GIF),  # GIF89a specification, 17
    (b"GIF89a", FileKind.GIF),
    (b"BM", FileKind.BMP),
)
# ISO/IEC 23008-12, B.4: brands of pictures coded with HEVC, and the general ones that phones write first [M].
_HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})


def find_kind(head: bytes) -> FileKind | None:
    r"""Return the kind of file that begins with these bytes, or None.

    >>> find_kind(b"\x89PNG\r\n\x1a\n...")
    <FileKind.PNG: 'PNG'>
    >>> find_kind(b"product,item,lot") is None
    True
    """
    for mark, kind in _MARKS:
        if head.startswith(mark):
            return kind
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":  # RFC 9649, 2.4
        return FileKind.WEBP
    if head[4:8] == b"ftyp" and head[8:12] in _HEIC_BRANDS:
        return FileKind.HEIC
    if b"%PDF-" in head[:HEAD_LENGTH]:
        return FileKind.PDF
    return None


_BOX_MARKS = frozenset({b"moov", b"mdat", b"wide", b"free", b"skip"})
"""How a QuickTime film begins that has no box of type ``ftyp`` (QuickTime File Format, 2001) [M]."""
_EBML = b"\x1a\x45\xdf\xa3"
_STILL_BRANDS = frozenset({*_HEIC_BRANDS, b"avif", b"avis", b"jp2 ", b"jpx ", b"crx "})


def find_clip_kind(head: bytes) -> ClipKind | None:
    r"""Return the kind of film that begins with these bytes, or None.

    >>> find_clip_kind(b"\x00\x00\x00\x18ftypmp42...")
    <ClipKind.MP4: 'MP4'>
    >>> find_clip_kind(b"\x00\x00\x00\x18ftypheic...") is None
    True
    """
    if head[4:8] == b"ftyp":  # ISO/IEC 14496-12, 4.3: which brand a film may bear is not closed
        return None if head[8:12] in _STILL_BRANDS else ClipKind.MP4
    if head[4:8] in _BOX_MARKS:
        return ClipKind.MP4
    if head.startswith(_EBML):  # RFC 8794, 11.2.1
        return ClipKind.MATROSKA
    if head.startswith(b"RIFF") and head[8:12] == b"AVI ":
        return ClipKind.AVI
    return None
