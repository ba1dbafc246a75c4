"""Views without thin dark bridges: what a printer spread or a blur joined comes apart."""

import cv2
import numpy as np

from tracelabels.scanning.attempts.attempt import View


def closed(view: View) -> View:
    """Return the view after a 3x3 closing (each pixel the lightest near it, then the darkest of those)."""
    grey = cv2.morphologyEx(view.grey, cv2.MORPH_CLOSE, np.ones((3, 3), dtype=np.uint8))
    return View(grey=np.asarray(grey, dtype=np.uint8), back=view.back)
