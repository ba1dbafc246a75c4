"""Where exactly the modules of a symbol lie that nobody has read: the step before sampling.

A symbol is a patch of dark modules with stock around it. Its outline, four sides that may be bowed, is a first map from
modules to pixels, good to about a module. For each printed shape and each quarter turn the map is then moved about, and
what agrees best with the shape's fixed pattern is settled by least squares: first on the fixed pattern, then on the
modules that were seen through it. Nothing is decided here: every map is only a place to sample.

Modules:
    surface: maps from modules to pixels, of third order.
    four_sides: the four bowed sides of a patch.
    fine_print: how much changes within a patch from one small part to the next.
    outlines: patches of a picture that may be symbols.
    window: the part of a picture around an outline, its light made even.
    pattern_points: what the fixed pattern of a shape looks like at points of it.
    expected_place: where a symbol is expected within an outline.
    agreement: how well a picture agrees with a fixed pattern under a map.
    starting: shapes and turns that may lie within an outline, and how likely a map is.
    searching: maps moved about.
    descending: maps settled by least squares.
    fitting: the best map on the fixed pattern, in each look of a photograph.
    own_modules: maps settled on the symbol's own modules.
    locating: the order of all this.
"""

from tracelabels.scanning.locating.locating import LOCATED_SHAPES, WIDER_SHAPES, Located, Site, locate, site_within
from tracelabels.scanning.locating.outlines import Outline, find_outlines
from tracelabels.scanning.locating.searching import SEARCHES

__all__ = [
    "LOCATED_SHAPES",
    "SEARCHES",
    "WIDER_SHAPES",
    "Located",
    "Outline",
    "Site",
    "find_outlines",
    "locate",
    "site_within",
]
