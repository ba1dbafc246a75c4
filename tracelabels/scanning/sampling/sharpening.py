"""The picture with a blur undone: Wiener's filter, in the picture's own pixels, where a blur is the same everywhere."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.sampling.geometry import ModuleMap, module_points, pixels_per_module

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

MARGIN: Final = 3.0
"""Modules around the symbol that are taken along, so that the edge of the patch does not reach it."""
_NOISE: Final = 0.01
"""Power of the noise against that of the print: at 0.1 of the contrast."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blur:
    """What may have blurred the picture; lengths in modules, because that is what matters."""

    bell: float
    """Standard deviation of a bell: a lens out of focus."""
    streak: float = 0.0
    """Length of a straight way: a hand that moved."""
    angle: float = 0.0
    """Degrees clockwise from the right, of that way."""

    def in_pixels(self, module: float) -> "Blur":
        """Return the same in pixels, for modules of so many."""
        return Blur(bell=self.bell * module, streak=self.streak * module, angle=self.angle)

    def passed(self, across: "NDArray[np.float32]", down: "NDArray[np.float32]") -> "NDArray[np.float32]":
        """Return what the blur leaves of each frequency, in waves a module.

        Args:
            across: frequencies across, shape (1, columns).
            down: frequencies down, shape (rows, 1).
        """
        falls = np.float32(-2.0 * (np.pi * self.bell) ** 2)
        bell = np.exp(falls * down**2) * np.exp(falls * across**2)
        if not self.streak:
            return np.asarray(bell, dtype=np.float32)
        turn = np.radians(self.angle)
        along = np.float32(np.cos(turn)) * across + np.float32(np.sin(turn)) * down
        return np.asarray(bell * np.sinc(np.float32(self.streak) * along), dtype=np.float32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patch:
    """The part of a picture that shows a symbol."""

    grey: "NDArray[np.float32]"
    """Grey levels, 0 to 255."""
    left: int
    """Pixels of the picture to the left of it."""
    top: int
    """Pixels of the picture above it."""
    module: float
    """Pixels a module."""


def find_patch(grey: "NDArray[np.uint8]", rows: int, columns: int, place: ModuleMap) -> Patch | None:
    """Find the part of a picture that shows a symbol; None if the symbol lies outside."""
    module = pixels_per_module(rows, columns, place)
    points = place(module_points(rows, columns, np.zeros((1, 2))).reshape(-1, 2))
    height, width = grey.shape
    if not ((points >= 0) & (points <= (width, height))).all():  # nowhere (not a number) is not inside either
        return None
    reach = MARGIN * module
    left, top = np.maximum(np.floor(points.min(axis=0) - reach).astype(int), 0).tolist()
    right, bottom = np.minimum(np.ceil(points.max(axis=0) + reach).astype(int), (width, height)).tolist()
    return Patch(grey=grey[top:bottom, left:right].astype(np.float32), left=left, top=top, module=module)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spectrum:
    """A patch as waves, from which any blur can be undone."""

    waves: "NDArray[np.complex64]"
    """Of the patch with its margin, as :func:`numpy.fft.rfft2` gives them."""
    wide: tuple[int, int]
    """Height and width with the margin."""
    margin: int
    """Pixels around the patch, or more, its edge repeated: waves run round."""
    size: tuple[int, int]
    """Height and width of the patch."""
    module: float
    """Pixels a module."""

    def without(self, blur: Blur) -> "NDArray[np.float32]":
        """Return the patch as if it had not been blurred so."""
        height, width = self.wide
        down, across = np.fft.fftfreq(height)[:, np.newaxis], np.fft.rfftfreq(width)[np.newaxis]
        passed = blur.passed((across * self.module).astype(np.float32), (down * self.module).astype(np.float32))
        undone = passed * np.float32(1.0 + _NOISE) / (passed**2 + np.float32(_NOISE))
        filtered = np.fft.irfft2(self.waves * undone, s=self.wide)
        inside = tuple(slice(self.margin, self.margin + side) for side in self.size)
        return np.asarray(filtered[inside], dtype=np.float32)


def spectrum_of(patch: Patch, blurs: "Iterable[Blur]") -> Spectrum:
    """Return a patch as waves, with the margin that the widest of the blurs needs."""
    margin = max(int(np.ceil((3.0 * blur.bell + blur.streak) * patch.module)) for blur in blurs)
    height, width = size = (int(patch.grey.shape[0]), int(patch.grey.shape[1]))
    wide = (cv2.getOptimalDFTSize(height + 2 * margin), cv2.getOptimalDFTSize(width + 2 * margin))
    rest = (wide[0] - height - margin, wide[1] - width - margin)
    padded = np.pad(patch.grey, ((margin, rest[0]), (margin, rest[1])), mode="edge")
    return Spectrum(
        waves=np.fft.rfft2(padded).astype(np.complex64), wide=wide, margin=margin, size=size, module=patch.module
    )


def sharpened(patch: Patch, blur: Blur) -> "NDArray[np.float32]":
    """Return the patch as if it had not been blurred so."""
    if not blur.bell and not blur.streak:
        return patch.grey
    return spectrum_of(patch, (blur,)).without(blur)
