"""Views with the light made even."""

import cv2
import numpy as np

from tracelabels.scanning.attempts.attempt import View

_CLIP = 3.0
_TILES = (8, 8)


def levelled(view: View) -> View:
    """Return the view after contrast-limited adaptive histogram equalisation (Zuiderveld, Graphics Gems IV, 1994)."""
    grey = cv2.createCLAHE(clipLimit=_CLIP, tileGridSize=_TILES).apply(view.grey)
    return View(grey=np.asarray(grey, dtype=np.uint8), back=view.back)
