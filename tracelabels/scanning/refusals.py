"""What is refused, and in which words."""

from dataclasses import dataclass

from tracelabels.errors import PictureError

_MEGA = 1_000_000
EXPECTED = "a photograph as JPEG, PNG, WebP, TIFF, GIF, BMP or HEIC, or a PDF page"
EXPECTED_CLIP = "a clip as MP4, MOV, MKV, WebM or AVI"


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureLimits:
    """How much of a file the reader accepts; a phone's largest photographs pass, bombs do not."""

    file_bytes: int = 256 * 1024 * 1024
    """The largest file."""

    pixels: int = 120 * _MEGA
    """The most pixels of one page (the largest common phone pictures have 108 million)."""

    side: int = 32_767
    """The longest side of one page in pixels."""

    pages: int = 100
    """The most pages or frames of one file."""

    file_pixels: int = 1_200 * _MEGA
    """The most pixels of all pages of one file together: a hundred A4 pages at 300 dots per inch have 870 million."""

    halve_above: int = 50 * _MEGA
    """Pages of more pixels than this are read at half their size."""

    pdf_dpi: int = 300
    """Dots per inch at which a PDF page is drawn."""

    frame_pixels: int = 36 * _MEGA
    """The most pixels of one frame of a clip (the largest of common phones have 33 million)."""

    clip_pixels: int = 4_000 * _MEGA
    """The most pixels of all frames of a clip together: a minute of 1920x1080 at 30 frames a second, or 16 s of 4K."""

    clip_pictures: int = 12
    """About how many frames of a clip are read: the sharpest of each stretch."""


DEFAULT_LIMITS = PictureLimits()


def require_length(length: int, name: str, limits: PictureLimits) -> None:
    """Refuse an empty file, and one above the limit; the length is in bytes."""
    if length == 0:
        raise PictureError(given=f"{name} is empty (0 bytes)", expected=EXPECTED, remedy="save or send it again")
    if length > limits.file_bytes:
        raise PictureError(
            given=f"{name} is larger than {limits.file_bytes // 1024**2} MB",
            expected=f"at most {limits.file_bytes // 1024**2} MB",
            remedy="take the photograph with a smaller setting",
        )


def require_size(width: int, height: int, name: str, limits: PictureLimits) -> None:
    """Refuse a page of too many pixels."""
    if width < 1 or height < 1:
        raise PictureError(given=f"{name} has no pixels", expected=EXPECTED, remedy="save or send it again")
    if width * height > limits.pixels or max(width, height) > limits.side:
        raise too_large(width * height, max(width, height), name, limits)


def too_large(pixels: int, side: int | None, name: str, limits: PictureLimits) -> PictureError:
    """Return the error for a page of too many pixels; None if its longest side is not known."""
    longest = "" if side is None else f" and a side of {side}"
    return PictureError(
        given=f"{name} has {pixels / _MEGA:.0f} million pixels{longest}",
        expected=f"at most {limits.pixels / _MEGA:.0f} million and no side above {limits.side}",
        remedy="take or scan it at a lower resolution",
    )


def require_page_number(number: int, name: str, limits: PictureLimits) -> None:
    """Refuse a page beyond the limit; pages are counted from 1."""
    if number > limits.pages:
        raise PictureError(
            given=f"{name} has more than {limits.pages} pages",
            expected=f"at most {limits.pages}",
            remedy="split the file",
        )


def require_frame(width: int, height: int, name: str, limits: PictureLimits) -> None:
    """Refuse a clip whose frames have too many pixels, or none."""
    if width < 1 or height < 1:
        raise broken_clip(name)
    if width * height > limits.frame_pixels or max(width, height) > limits.side:
        raise PictureError(
            given=f"{name} is a clip whose frames have {width * height / _MEGA:.0f} million pixels",
            expected=f"at most {limits.frame_pixels / _MEGA:.0f} million",
            remedy="film at a lower resolution",
        )


def require_frame_number(number: int, width: int, height: int, name: str, limits: PictureLimits) -> None:
    """Refuse a clip of more frames than can be looked at; frames are counted from 1."""
    most = max(1, limits.clip_pixels // (width * height))
    if number > most:
        raise PictureError(
            given=f"{name} is a clip of more than {most} frames of {width}x{height} pixels",
            expected=f"at most {most} of that size",
            remedy="cut it to the seconds that show the labels, or film at a lower resolution",
        )


def broken_clip(name: str) -> PictureError:
    """Return the error for a clip of which no frame can be seen."""
    return PictureError(
        given=f"{name} is a clip that is broken, or of a kind that cannot be played here",
        expected=EXPECTED_CLIP,
        remedy="film or send it again, or take a photograph",
    )


def require_total(pixels: int, name: str, limits: PictureLimits) -> None:
    """Refuse to go on where the pages of a file have too many pixels together."""
    if pixels > limits.file_pixels:
        raise PictureError(
            given=f"{name} has more than {limits.file_pixels / _MEGA:.0f} million pixels in its pages together",
            expected="at most that many",
            remedy="split the file, or scan it at a lower resolution",
        )


def broken(name: str, error: Exception) -> PictureError:
    """Return the error for whatever a decoder raised."""
    if "truncated" in str(error).lower() or isinstance(error, EOFError):
        return truncated(name)
    return PictureError(given=f"{name} is broken", expected=EXPECTED, remedy="save or send it again")


def truncated(name: str) -> PictureError:
    """Return the error for a file that ends too early."""
    return PictureError(
        given=f"{name} breaks off before its end (truncated)",
        expected="the whole file",
        remedy="copy or send it again",
    )
