"""The sensor's noise and the file's compression."""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def noisy(levels: "NDArray[np.float32]", sigma: float, rng: np.random.Generator) -> "NDArray[np.float32]":
    """Return the picture with Gaussian noise, mostly of brightness and a little of colour.

    Each channel is I + sigma (0.9 b + 0.436 c), where b is shared by the channels and c is not; the standard deviation
    of each channel is sigma. The same at all grey levels, which a real sensor's noise is not.

    Args:
        levels: grey levels 0 to 255, shape (height, width, 3).
        sigma: standard deviation in grey levels.
        rng: where the randomness comes from.
    """
    if sigma <= 0.0:
        return levels
    height, width, channels = levels.shape
    shared = rng.standard_normal((height, width, 1), dtype=np.float32)
    own = rng.standard_normal((height, width, channels), dtype=np.float32)
    noise = np.float32(0.9) * shared + np.float32(0.436) * own
    return np.asarray(levels + np.float32(sigma) * noise, dtype=np.float32)


def digitised(levels: "NDArray[np.float32]") -> "NDArray[np.uint8]":
    """Return whole grey levels, clipped to 0 and 255."""
    return np.clip(np.rint(levels), 0, 255).astype(np.uint8)


def compressed(rgb: "NDArray[np.uint8]", quality: int) -> "NDArray[np.uint8]":
    """Return the picture as it comes back from a JPEG file (baseline, ITU-T T.81; colour at half resolution).

    Args:
        rgb: shape (height, width, 3).
        quality: 1 to 100, the scale of the Independent JPEG Group's library.
    """
    encoded = cv2.imencode(".jpg", rgb[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
    decoded = np.asarray(cv2.imdecode(encoded, cv2.IMREAD_COLOR), dtype=np.uint8)
    return np.ascontiguousarray(decoded[:, :, ::-1])


def noisy_grey(levels: "NDArray[np.float32]", sigma: float, rng: np.random.Generator) -> "NDArray[np.float32]":
    """Return a grey picture, shape (height, width), with Gaussian noise I + sigma n, the same at all grey levels.

    Args:
        levels: grey levels 0 to 255.
        sigma: standard deviation in grey levels.
        rng: where the randomness comes from.
    """
    if sigma <= 0.0:
        return levels
    return levels + np.float32(sigma) * rng.standard_normal(levels.shape, dtype=np.float32)


def compressed_grey(grey: "NDArray[np.uint8]", quality: int) -> "NDArray[np.uint8]":
    """Return a grey picture as it comes back from a JPEG file (baseline, ITU-T T.81; brightness alone).

    Args:
        grey: shape (height, width).
        quality: 1 to 100, the scale of the Independent JPEG Group's library.
    """
    encoded = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
    return np.asarray(cv2.imdecode(encoded, cv2.IMREAD_GRAYSCALE), dtype=np.uint8)
