"""A file, bytes or standard input in; upright grey pictures out, one per page or stretch of a clip.

Whatever is wrong with the file, the only error is PictureError, one sentence. A picture's size is read from its header
and judged before anything is decoded, so that a bomb costs no memory.
"""

import io
import re
import sys
import warnings
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING, BinaryIO

import numpy as np
from PIL import Image

from tracelabels.errors import PictureError, TracelabelsError
from tracelabels.scanning.clips import Clip, clip_file, require_known_frames
from tracelabels.scanning.colours import has_other_greys, other_greys
from tracelabels.scanning.greys import as_upright_grey
from tracelabels.scanning.picture import OtherGrey, Picture
from tracelabels.scanning.refusals import (
    DEFAULT_LIMITS,
    EXPECTED,
    EXPECTED_CLIP,
    PictureLimits,
    broken,
    broken_clip,
    require_length,
    require_page_number,
    require_size,
    require_total,
    too_large,
    truncated,
)
from tracelabels.scanning.signatures import HEAD_LENGTH, ClipKind, FileKind, find_clip_kind, find_kind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

STANDARD_INPUT = Path("-")
# A phone's JPEG may carry previews and depth maps as further pictures; they show nothing new.
_SINGLE = frozenset({FileKind.JPEG, FileKind.BMP, FileKind.HEIC})
_HALVED_BY_DECODER = frozenset({"JPEG", "MPO"})


def load_pictures(
    source: Path | bytes, *, name: str | None = None, limits: PictureLimits = DEFAULT_LIMITS
) -> "Iterator[Picture]":
    """Yield the upright grey pictures of one file, page by page.

    Args:
        source: the file's path (``-`` is standard input), or its bytes.
        name: what to call it in sentences; by default the file's name.
        limits: what is accepted.

    Raises:
        PictureError: the file is missing, empty, broken, too large, or no picture; pages before it come first.
    """
    called = name or (_name_of(source) if isinstance(source, Path) else "the picture")
    kept = sys.stdin.buffer.read(limits.file_bytes + 1) if source == STANDARD_INPUT else source
    yield from _pages(_File(source=kept, name=called, limits=limits))


def _name_of(path: Path) -> str:
    return "standard input" if path == STANDARD_INPUT else path.name


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """One file that can be opened more than once."""

    source: Path | bytes
    """Where it is, or what is in it."""
    name: str
    """What to call it in sentences."""
    limits: PictureLimits
    """What is accepted."""

    def opened(self) -> BinaryIO:
        """Open it for reading from its start, with its size judged first."""
        if isinstance(self.source, Path):
            return _opened_file(self.source, self.name, self.limits)
        require_length(len(self.source), self.name, self.limits)
        return io.BytesIO(self.source)


def _opened_file(path: Path, name: str, limits: PictureLimits) -> BinaryIO:
    """Open a file; a device, pipe or folder is not opened at all."""
    try:
        if not path.is_file():
            raise PictureError(
                given=f"{name} is {'a folder' if path.is_dir() else 'not there'}",
                expected=EXPECTED,
                remedy="check the name",
            )
        require_length(path.stat().st_size, name, limits)
        return path.open("rb")
    except (OSError, ValueError) as error:
        raise PictureError(
            given=f"{name} cannot be opened", expected=EXPECTED, remedy="check its name and who may read it"
        ) from error


def _bounded(pictures: "Iterator[Picture]", name: str, limits: PictureLimits) -> "Iterator[Picture]":
    """Give the pages until they have too many pixels together: small files can hold many large pages."""
    pixels = 0
    for picture in pictures:
        pixels += picture.grey.size * picture.reduction**2
        require_total(pixels, name, limits)
        yield picture


def _pages(file: _File) -> "Iterator[Picture]":
    with file.opened() as stream:
        head = stream.read(HEAD_LENGTH)
        stream.seek(0)
        kind, film = find_kind(head), find_clip_kind(head)
        if kind is FileKind.PDF:
            yield from _bounded(_pdf_pages(stream.read(), file.name, file.limits), file.name, file.limits)
        elif kind is not None:
            yield from _bounded(_image_pages(file, stream, kind), file.name, file.limits)
        elif film is not None:
            yield from _clip_pictures(file, stream, film)
        else:
            given = f"{file.name} is {_what_else(head)}"
            raise PictureError(given=given, expected=f"{EXPECTED}, or {EXPECTED_CLIP}", remedy="choose another file")


def _what_else(head: bytes) -> str:
    """Say what a file that is no picture looks like."""
    try:
        head.decode()
    except UnicodeDecodeError as error:
        if error.start < len(head) - 3:  # only a character cut at the end of the head may fail
            return "not a picture of a kind that can be read"
    return "not a picture of a kind that can be read" if b"\x00" in head else "a text file"


def _pdf_pages(content: bytes, name: str, limits: PictureLimits) -> "Iterator[Picture]":
    """Draw each page of a PDF."""
    from tracelabels.paper import page_count, rasterise  # noqa: PLC0415  loaded only where a PDF comes in

    with _pdf_guarded(name):
        require_page_number(page_count(content), name, limits)
        pages = rasterise(content, dpi=limits.pdf_dpi)
    for number in range(1, limits.pages + 1):
        with _pdf_guarded(name):
            grey = next(pages, None)
        if grey is None:
            return
        height, width = grey.shape
        require_size(width, height, name, limits)
        halved = width * height > limits.halve_above
        yield Picture(grey=_half(grey) if halved else grey, name=name, page=number, reduction=2 if halved else 1)


@contextmanager
def _pdf_guarded(name: str) -> "Iterator[None]":
    """Whatever the PDF library raises becomes one sentence."""
    try:
        yield
    except PictureError:
        raise
    except TracelabelsError as error:
        raise PictureError(given=f"{name}: {error.given}", expected=error.expected, remedy=error.remedy) from error
    except Exception as error:
        raise broken(name, error) from error


def _image_pages(file: _File, stream: BinaryIO, kind: FileKind) -> "Iterator[Picture]":
    name, limits = file.name, file.limits
    _require_whole(stream, kind, name)
    with guarded(name, limits):
        image = open_image(stream, kind, name)
    if kind in _SINGLE or (kind is FileKind.WEBP and not image.is_animated):  # type: ignore[attr-defined]
        with image:
            picture = _picture(file, image, kind, 1)
        del image  # with its decoder: as much memory as the pixels again, while the picture is read
        yield picture
        return
    with image:
        number = 1
        while True:
            yield _picture(file, image, kind, number)
            number += 1
            if not _turn_page(image, number, name, limits):
                return
            require_page_number(number, name, limits)


def _picture(file: _File, image: Image.Image, kind: FileKind, page: int) -> Picture:
    """Decode the page that the image stands at."""
    others = partial(_other_greys, file, kind, page) if _may_be_decoded_twice(image, file.limits) else None
    with guarded(file.name, file.limits):
        longest, reduction = _load(image, "L", file.name, file.limits)
        grey = _reduced(as_upright_grey(image), longest, reduction)
    return Picture(grey=grey, name=file.name, page=page, reduction=reduction, other_greys=others)


def _may_be_decoded_twice(image: Image.Image, limits: PictureLimits) -> bool:
    """Say whether a page may show more in other greys, and its colours fit into memory beside what is there."""
    is_small = image.format in _HALVED_BY_DECODER or image.width * image.height <= limits.halve_above
    return is_small and has_other_greys(image)


def _other_greys(file: _File, kind: FileKind, page: int) -> "Iterator[OtherGrey]":
    """Decode a page once more, in colour; a file that is gone or was changed since gives nothing."""
    with suppress(PictureError), file.opened() as stream:
        with guarded(file.name, file.limits):
            image = open_image(stream, kind, file.name)
            image.seek(page - 1)
            longest, reduction = _load(image, "RGB", file.name, file.limits)
        for one in other_greys(image):
            yield replace(one, grey=_reduced(one.grey, longest, reduction))


def _clip_pictures(file: _File, stream: BinaryIO, kind: ClipKind) -> "Iterator[Picture]":
    """Give the sharpest frames of a clip."""
    with guarded(file.name, file.limits):
        require_known_frames(stream, kind, file.name, file.limits)
    with clip_file(file.source) as path:
        with guarded(file.name, file.limits):
            clip = Clip(path, file.name, file.limits)
        with closing(clip):
            number = 0
            while True:
                with guarded(file.name, file.limits):
                    picture = clip.next_picture()
                if picture is None:
                    break
                number += 1
                yield picture
    if not number:
        raise broken_clip(file.name)


def _require_whole(stream: BinaryIO, kind: FileKind, name: str) -> None:
    """Refuse a WebP file shorter than it says; its decoder would only say that it is broken."""
    head = stream.read(8)
    length = stream.seek(0, io.SEEK_END)
    stream.seek(0)
    if kind is FileKind.WEBP and length < int.from_bytes(head[4:], "little") + 8:  # RFC 9649, 2.4
        raise truncated(name)


def open_image(stream: BinaryIO, kind: FileKind, name: str) -> Image.Image:
    """Read a picture's header with the one decoder that its first bytes call for."""
    if kind is not FileKind.HEIC:
        return Image.open(stream, formats=[kind.value])
    try:
        from pillow_heif import HeifImageFile  # noqa: PLC0415  an optional library
    except ImportError as error:
        raise PictureError(
            given=f"{name} is a HEIC picture, and the library that reads those is not installed",
            expected="JPEG, PNG, WebP, TIFF, GIF, BMP or a PDF page",
            remedy='set the phone\'s camera to "most compatible" (JPEG), or install the "heic" extra',
        ) from error
    heic: Image.Image = HeifImageFile(stream)  # type: ignore[no-untyped-call]
    return heic


def _load(image: Image.Image, mode: str, name: str, limits: PictureLimits) -> tuple[int, int]:
    """Judge the size of the page that the image stands at, then decode it.

    Returns:
        Its longest side before, and the file's pixels per pixel that is wanted.
    """
    width, height = image.size
    require_size(width, height, name, limits)
    reduction = 2 if width * height > limits.halve_above else 1
    if image.format in _HALVED_BY_DECODER:  # the decoder gives luma at once, and halves for nothing
        image.draft(mode, (width // 2, height // 2) if reduction > 1 else None)
    image.load()
    return max(width, height), reduction


def _reduced(grey: "NDArray[np.uint8]", longest: int, reduction: int) -> "NDArray[np.uint8]":
    """Return the picture at the size that is wanted, which the decoder may have given already."""
    return _half(grey) if reduction > 1 and max(grey.shape) == longest else grey


def _half(grey: "NDArray[np.uint8]") -> "NDArray[np.uint8]":
    """Return the picture at half its size, each pixel the mean of four."""
    return np.asarray(Image.fromarray(grey).reduce(2))


def _turn_page(image: Image.Image, number: int, name: str, limits: PictureLimits) -> bool:
    """Go to the next page; False after the last. Asking for the number of pages first would walk through all."""
    with guarded(name, limits):
        try:
            image.seek(number - 1)
        except EOFError:
            return False
    return True


_quiet = RLock()


@contextmanager
def guarded(name: str, limits: PictureLimits) -> "Iterator[None]":
    """Turn whatever a decoder raises into PictureError, and keep its warnings from the user.

    The decoders raise a dozen kinds of error on broken files (struct.error, SyntaxError, OverflowError, zlib.error
    ...), so this one place catches all. The lock is there because warning filters belong to the whole process.
    """
    with _quiet, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            yield
        except PictureError:
            raise
        except Image.DecompressionBombError as error:
            found = re.search(r"\d+", str(error))
            # Image.open refuses by itself above 178 million pixels; its message holds the number, the side is not told.
            raise too_large(int(found[0]) if found else 0, None, name, limits) from error
        except Exception as error:
            raise broken(name, error) from error
