"""Larger views: a reader needs about three pixels per module, and interpolated ones count."""

import cv2
import numpy as np

from tracelabels.scanning.attempts.attempt import View


def enlarged(view: View, times: int) -> View:
    """Return the view so many times as large, by cubic interpolation."""
    height, width = view.grey.shape
    larger = cv2.resize(view.grey, (width * times, height * times), interpolation=cv2.INTER_CUBIC)
    # Pixel centres: x of the small picture is (X + 0.5) / times - 0.5; corners are edges, where the halves cancel.
    back = view.back.copy()
    back[:, :2] /= times
    return View(grey=np.asarray(larger, dtype=np.uint8), back=back)
