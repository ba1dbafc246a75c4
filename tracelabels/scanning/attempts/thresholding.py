"""Views in black and white by one threshold for all of the view, where the reader's own is local."""

import cv2
import numpy as np

from tracelabels.scanning.attempts.attempt import View


def two_levels(view: View) -> View:
    """Return the view in black and white; the threshold is Otsu's (IEEE Trans. SMC 9 (1979) 62)."""
    levels = cv2.threshold(view.grey, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[1]
    return View(grey=np.asarray(levels, dtype=np.uint8), back=view.back)
