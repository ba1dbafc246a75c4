"""From a decoded picture of any colour model to upright grey levels.

Grey from a colour picture is the luma of ITU-R BT.601 (what JPEG stores); transparent parts stand on white; pictures of
more than 8 bits are scaled so that their lightest parts are white, because cameras store 10, 12 or 14 bits in 16; a few
pixels that shine for no reason (every large sensor has some) do not count as such.
"""

from typing import TYPE_CHECKING

import numpy as np
from PIL import ExifTags, Image, ImageOps

if TYPE_CHECKING:
    from numpy.typing import NDArray

_DEEP_MODES = frozenset({"I", "F", "I;16", "I;16L", "I;16B", "I;16N"})
_SEE_THROUGH_MODES = frozenset({"LA", "La", "PA", "RGBA", "RGBa"})
_WHITE = 255
_OPAQUE = 255
_STRIP_ROWS = 512
"""A big picture is converted so many rows at a time, so that no second one of four bytes a pixel is held."""
_SAMPLED = 65_536
"""About so many values, evenly taken, tell how light the lightest parts are."""
_STRAY = 0.001
"""Share of values above which it is a part of the picture, and no stray pixel."""


def as_upright_grey(image: Image.Image) -> "NDArray[np.uint8]":
    """Return grey levels, shape (height, width), turned as the picture's EXIF orientation says.

    Args:
        image: a decoded picture in any of Pillow's modes.
    """
    turned = upright(image)
    if turned.mode in _DEEP_MODES:
        return _deep_as_grey(np.asarray(turned))
    if shows_through(turned):
        turned = laid_on(turned, _WHITE, "L")
    if turned.mode == "LAB":
        turned = turned.getchannel(0)
    return np.ascontiguousarray(np.asarray(turned if turned.mode == "L" else turned.convert("L")))


def upright(image: Image.Image) -> Image.Image:
    """Turn as EXIF says; a picture whose EXIF cannot be read is taken as it lies."""
    try:
        orientation = image.getexif().get(ExifTags.Base.Orientation, 1)
        return image if orientation == 1 else ImageOps.exif_transpose(image)
    except Exception:  # noqa: BLE001  a broken EXIF block raises anything, and must not cost the picture
        return image


def shows_through(image: Image.Image) -> bool:
    """Say whether a picture may have transparent parts."""
    return image.mode in _SEE_THROUGH_MODES or "transparency" in image.info


def laid_on(image: Image.Image, level: int, mode: str) -> Image.Image:
    """Lay a picture with transparent parts on a grey level; the result is grey ("L") or has colours ("RGB")."""
    laid = Image.new(mode, image.size)
    for top in range(0, image.height, _STRIP_ROWS):
        strip = image.crop((0, top, image.width, min(image.height, top + _STRIP_ROWS))).convert("RGBA")
        ground = Image.new("RGBA", strip.size, (level, level, level, _OPAQUE))
        laid.paste(Image.alpha_composite(ground, strip).convert(mode), (0, top))
    return laid


def _deep_as_grey(values: "NDArray[np.generic]") -> "NDArray[np.uint8]":
    """Scale values of more than 8 bits (or floating point) so that the lightest part is white and zero is black."""
    grey = np.empty(values.shape, dtype=np.uint8)
    lightest = _lightest(values)
    scale = _WHITE / lightest if lightest > 0.0 else 1.0
    for top in range(0, len(values), _STRIP_ROWS):
        levels = _as_levels(values[top : top + _STRIP_ROWS])
        levels *= scale
        np.clip(levels, 0.0, _WHITE, out=levels)
        grey[top : top + _STRIP_ROWS] = levels
    return grey


def _lightest(values: "NDArray[np.generic]") -> float:
    """Return the lightest value, stray pixels left out unless there is nothing else."""
    if not values.size:
        return 0.0
    sample = _as_levels(values.ravel()[:: max(1, values.size // _SAMPLED)])
    rank = sample.size - 1 - int(sample.size * _STRAY)
    found = float(np.partition(sample, rank)[rank])
    if found > 0.0:
        return found
    return max(float(_as_levels(values[top : top + _STRIP_ROWS]).max()) for top in range(0, len(values), _STRIP_ROWS))


def _as_levels(values: "NDArray[np.generic]") -> "NDArray[np.float32]":
    """Return values as numbers, what is none as zero."""
    return np.nan_to_num(values.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)
