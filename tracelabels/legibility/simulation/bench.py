"""The mat that the labels lie on, and their soft shadows on it."""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MAT = np.array([0.36, 0.50, 0.52], dtype=np.float32)  # reflectance in red, green, blue: a grey-green drape


def mat(height: int, width: int, *, px_per_mm: float, rng: np.random.Generator) -> "NDArray[np.float32]":
    """Return the mat's reflectance, shape (height, width, 3): a plain colour with soft folds and a fine weave.

    Folds are noise drawn on a coarse grid (25 mm) and enlarged, +-4 %; the weave is noise of the size of a thread
    (0.35 mm), +-2 %. Both are decoration and claim nothing about real drapes.
    """
    folds = _noise(height, width, px_per_mm * 25.0, rng)
    weave = _noise(height, width, max(1.0, px_per_mm * 0.35), rng)
    texture = 1.0 + 0.04 * folds + 0.02 * weave
    return _MAT * texture[:, :, np.newaxis]


def _noise(height: int, width: int, grain: float, rng: np.random.Generator) -> "NDArray[np.float32]":
    """Return smooth noise with grains of so many pixels, shape (height, width), standard deviation near 1."""
    coarse = rng.standard_normal((int(height / grain) + 3, int(width / grain) + 3), dtype=np.float32)
    return np.asarray(cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC), dtype=np.float32)


def shadow(coverage: "NDArray[np.float32]", *, px_per_mm: float, height_mm: float) -> "NDArray[np.float32]":
    """Return how much light the mat keeps beside a piece of some height, shape (height, width), 1 without shadow.

    The piece's outline, moved away from the lamp by its height and blurred by a penumbra as wide, takes 45 % of the
    light.

    Args:
        coverage: the share of each pixel that the piece covers.
        px_per_mm: the picture's scale.
        height_mm: how high the piece stands.
    """
    shift = px_per_mm * (0.3 + 0.35 * height_mm)
    move = np.array([[1.0, 0.0, shift * 0.8], [0.0, 1.0, shift]], dtype=np.float32)
    size = (coverage.shape[1], coverage.shape[0])
    fallen = np.asarray(cv2.warpAffine(coverage, move, size), dtype=np.float32)
    soft = _widely_blurred(fallen, max(0.8, px_per_mm * (0.5 + 0.3 * height_mm)))
    return np.asarray(1.0 - 0.45 * soft, dtype=np.float32)


def _widely_blurred(levels: "NDArray[np.float32]", sigma: float) -> "NDArray[np.float32]":
    """Return a Gaussian blur, made at a size at which its standard deviation is a few pixels: wide kernels are slow."""
    step = max(1, int(sigma / 4.0))
    height, width = levels.shape
    small = cv2.resize(levels, (-(-width // step), -(-height // step)), interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(small, (0, 0), sigma / step)
    return np.asarray(cv2.resize(blurred, (width, height), interpolation=cv2.INTER_LINEAR), dtype=np.float32)
