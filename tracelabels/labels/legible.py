"""The smallest type that a label may carry.

No standard for tube or pouch labels was found that gives a number (the GS1 General Specifications give none for human
readable text). The bound here is the one that European food law sets for small packs, taken as a measure of what most
people can read: an x-height of 0.9 mm (Regulation (EU) No 1169/2011, Article 13(3), packs whose largest side is
under 80 square centimetres; cited from memory). Digits have no x-height; their full height is held to the same 0.9 mm.
"""

import math
from functools import cache
from typing import Final

from tracelabels.labels.content import SERIAL_FIELDS, ContentField
from tracelabels.lengths import Mm, Points
from tracelabels.paper import cap_height, x_height

SMALLEST_X_HEIGHT: Final = Mm(0.9)
"""Height of a small x in words that matter."""

SMALLEST_DIGIT_HEIGHT: Final = Mm(0.9)
"""Height of a digit in dates and serials."""

SIZE_STEP: Final = Points(0.25)
"""Type sizes go down in this step."""

DIGIT_FIELDS: Final = frozenset({ContentField.PREPARED, ContentField.USE_BY, ContentField.PROCESSED_ON, *SERIAL_FIELDS})
"""Fields that are digits; a serial of letters is set in capitals and is as high."""


@cache
def smallest_legible(content: ContentField) -> Points:
    """Return the smallest type size in which a fact is legible, on the grid of sizes."""
    height = cap_height if content in DIGIT_FIELDS else x_height
    bound = SMALLEST_DIGIT_HEIGHT if content in DIGIT_FIELDS else SMALLEST_X_HEIGHT
    return Points(math.ceil(bound / height(Points(1.0)) / SIZE_STEP - 1e-9) * SIZE_STEP)
