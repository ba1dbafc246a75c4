"""What is refused, and in which words."""

from dataclasses import dataclass

from tracelabels.errors import PictureError

_MEGA = 1_000_000
EXPECTED = "a photograph as JPEG, PNG, WebP, TIFF, GIF, BMP or HEIC, or a PDF page"


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

    halve_above: int = 50 * _MEGA
    """Pages of more pixels than this are read at half their size."""

    pdf_dpi: int = 300
    """Dots per inch at which a PDF page is drawn."""


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
