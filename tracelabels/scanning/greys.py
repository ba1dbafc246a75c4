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
        turned = laid_on(turned, _WHITE).convert("L")
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


def laid_on(image: Image.Image, level: int) -> Image.Image:
    """Lay a picture with transparent parts on a grey level; the result has colours."""
    colours = image.convert("RGBA")
    ground = Image.new("RGBA", colours.size, (level, level, level, _OPAQUE))
    return Image.alpha_composite(ground, colours).convert("RGB")


def _deep_as_grey(values: "NDArray[np.generic]") -> "NDArray[np.uint8]":
    """Scale values of more than 8 bits (or floating point) so that the lightest part is white and zero is black."""
    levels = np.nan_to_num(values.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)
    lightest = _lightest(levels)
    if lightest > 0.0:
        levels *= _WHITE / lightest
    np.clip(levels, 0.0, _WHITE, out=levels)
    return levels.astype(np.uint8)


def _lightest(levels: "NDArray[np.float32]") -> float:
    """Return the lightest value, stray pixels left out unless there is nothing else."""
    sample = levels.ravel()[:: max(1, levels.size // _SAMPLED)]
    if not sample.size:
        return 0.0
    rank = sample.size - 1 - int(sample.size * _STRAY)
    found = float(np.partition(sample, rank)[rank])
    return found if found > 0.0 else float(levels.max())
