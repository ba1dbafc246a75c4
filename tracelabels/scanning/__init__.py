"""From a photograph to readings.

Modules:
    picture: one upright grey picture.
    signatures: which kind of file this is.
    greys: from any colour model to upright grey levels.
    colours: other greys of a colour picture, where its luma shows too little.
    refusals: what is refused, and in which words.
    clip_headers: how large the frames of a film clip are, before it is decoded.
    clips: the sharpest frame of each stretch of a clip.
    loading: files, bytes and standard input to pictures; the only error is PictureError.
    stripping: a photograph without anything but its pixels.
    sharpness: how sharp a picture is beside others of its scene.
    reading: what a scan answers.
    attempts: the ordered ways to look at a picture.
    averaging: a picture made smaller by a whole number.
    edge_cells: where a picture is full of edges, as print is.
    beside: whether there may be more than what was read.
    places: where a picture looks like a code.
    runs: where lines that hold something begin and end.
    blocks: such a patch cut at its gaps: a code, and the words beside it.
    guards: what must hold before a reading is believed, as one table.
    merging: one answer for each place, in reading order.
    looks: whether a patch looks like a code or like bars.
    advising: why a code was not read, from measurements.
    scan: the order of steps.
    watching: a stream of frames for a live viewfinder.
    locating: where the modules of an unread symbol lie.
    one_core: array work kept on one core.
    sampled: symbols located, sampled and decoded: the last attempt.
    sampling: the modules of a symbol whose place is known, sampled and decoded.
    marking: what was read, drawn on the photograph.
    patch_colour: a chemical indicator's colour against pictures of a turned and an unturned one.
"""

from tracelabels.scanning.loading import load_pictures
from tracelabels.scanning.patch_colour import Compared, Likeness, Patch, compare_patches, find_patch
from tracelabels.scanning.picture import Corners, Picture
from tracelabels.scanning.reading import Reading, Scan, ScanMode, UnreadPlace
from tracelabels.scanning.refusals import DEFAULT_LIMITS, PictureLimits
from tracelabels.scanning.scan import DEFAULT_BUDGET_MS, scan_picture
from tracelabels.scanning.stripping import Stripped, find_picture_kind, strip_picture
from tracelabels.scanning.watching import Frame, Glance, Pace, Sighting, Viewfinder

__all__ = [
    "DEFAULT_BUDGET_MS",
    "DEFAULT_LIMITS",
    "Compared",
    "Corners",
    "Frame",
    "Glance",
    "Likeness",
    "Pace",
    "Patch",
    "Picture",
    "PictureLimits",
    "Reading",
    "Scan",
    "ScanMode",
    "Sighting",
    "Stripped",
    "UnreadPlace",
    "Viewfinder",
    "compare_patches",
    "find_patch",
    "find_picture_kind",
    "load_pictures",
    "scan_picture",
    "strip_picture",
]
