"""From a photograph to readings.

Modules:
    picture: one upright grey picture.
    signatures: which kind of file this is.
    greys: from any colour model to upright grey levels.
    loading: files, bytes and standard input to pictures; the only error is PictureError.
"""

from tracelabels.scanning.loading import DEFAULT_LIMITS, PictureLimits, load_pictures
from tracelabels.scanning.picture import Corners, Picture

__all__ = ["DEFAULT_LIMITS", "Corners", "Picture", "PictureLimits", "load_pictures"]
