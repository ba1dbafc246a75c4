"""Other greys of a colour picture, for prints whose luma shows too little: dark blue on a red film, red on a green one.

Luma (ITU-R BT.601) mixes the channels in fixed shares, so two colours that differ much can be one grey. Asked only
after the luma said nothing: a plain picture pays nothing for it.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np
from PIL import Image

from tracelabels.scanning.greys import laid_on, shows_through, upright
from tracelabels.scanning.picture import OtherGrey

if TYPE_CHECKING:
    from numpy.typing import NDArray

_COLOURLESS: Final = frozenset({"1", "L", "I", "F", "I;16", "I;16L", "I;16B", "I;16N", "LAB"})
_CHANNELS: Final = ("red", "green", "blue")
_BLACK, _WHITE, _OPAQUE = 0, 255, 255
_SAMPLED: Final = 1_000_000
"""About so many pixels of a picture, evenly taken, tell its contrast."""
_BLOCK: Final = 8
"""Contrast is measured in blocks of so many sampled pixels along each side."""
_FEWEST_BLOCKS: Final = 4
"""A symbol covers at least so many blocks."""
_MARKEDLY: Final = 1.5
"""A channel counts where its contrast is so many times the luma's."""
_LEAST: Final = 12.0
"""Standard deviation in grey levels below which a block is even: noise, and colours smeared by JPEG."""


def has_other_greys(image: Image.Image) -> bool:
    """Say whether a picture may hold more than its luma shows; nothing is decoded."""
    return image.mode not in _COLOURLESS or shows_through(image)


def other_greys(image: Image.Image) -> Iterator[OtherGrey]:
    """Yield greys that show markedly more contrast than the luma on white, the best first.

    Args:
        image: a decoded picture in any of Pillow's modes that :func:`has_other_greys`.
    """
    turned = upright(image)
    if shows_through(turned) and not _is_opaque(turned):
        yield OtherGrey(name="on black", grey=np.asarray(laid_on(turned, _BLACK, "L")))
        turned = laid_on(turned, _WHITE, "RGB")
    if turned.mode not in _COLOURLESS:
        yield from better_channels(np.asarray(turned if turned.mode == "RGB" else turned.convert("RGB")))


def _is_opaque(image: Image.Image) -> bool:
    alpha = image if "A" in image.getbands() else image.convert("RGBA")
    return alpha.getchannel("A").getextrema() == (_OPAQUE, _OPAQUE)


def better_channels(colours: "NDArray[np.uint8]") -> Iterator[OtherGrey]:
    """Yield the channels with markedly more contrast than the luma somewhere, the one with most of it first.

    Args:
        colours: red, green, blue; shape (height, width, 3).
    """
    step = max(1, int((colours.shape[0] * colours.shape[1] / _SAMPLED) ** 0.5))
    sample = np.ascontiguousarray(colours[::step, ::step])
    luma = _contrast(np.asarray(cv2.cvtColor(sample, cv2.COLOR_RGB2GRAY), dtype=np.uint8))
    gains = [_gain(_contrast(sample[..., channel]), luma) for channel in range(len(_CHANNELS))]
    for channel in np.argsort(gains)[::-1].tolist():
        if gains[channel] > 0.0:
            yield OtherGrey(name=f"{_CHANNELS[channel]} channel", grey=np.ascontiguousarray(colours[..., channel]))


def _contrast(levels: "NDArray[np.uint8]") -> "NDArray[np.float32]":
    """Return the standard deviation in each block."""
    values = levels.astype(np.float32)
    size = max(1, levels.shape[1] // _BLOCK), max(1, levels.shape[0] // _BLOCK)
    mean = cv2.resize(values, size, interpolation=cv2.INTER_AREA)
    square = cv2.resize(values * values, size, interpolation=cv2.INTER_AREA)
    return np.sqrt(np.maximum(square - mean * mean, 0.0))


def _gain(contrast: "NDArray[np.float32]", luma: "NDArray[np.float32]") -> float:
    """Return how much contrast a channel adds where it has markedly more; nothing for less than a symbol's area."""
    is_better = (contrast > _LEAST) & (contrast > _MARKEDLY * luma)
    if int(is_better.sum()) < _FEWEST_BLOCKS:
        return 0.0
    return float((contrast - luma)[is_better].sum())
