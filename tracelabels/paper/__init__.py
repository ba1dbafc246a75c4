"""Drawing on a page in millimetres and printer dots, and rasterising a PDF exactly.

The only room that imports the PDF libraries; labels, charts and reports all draw through it.

Modules:
    faces: the embedded text face, its measures and which characters it has.
    breaking: text in lines that fit a width; characters that the face lacks named by their number.
    fragment: a piece of drawing with its own origin, recorded once and stamped as often as needed.
    paper: pages of a document, stamped with fragments and symbols, finished to the bytes of a PDF.
    raster: a PDF as grey pictures at a printer's resolution, dot for dot.
"""

from tracelabels.paper.breaking import shown, wrapped
from tracelabels.paper.faces import Face, ascent, cap_height, descent, missing_characters, text_width, x_height
from tracelabels.paper.fragment import Fragment
from tracelabels.paper.paper import Paper
from tracelabels.paper.raster import page_count, rasterise, rasterise_boxes, rasterise_page

__all__ = [
    "Face",
    "Fragment",
    "Paper",
    "ascent",
    "cap_height",
    "descent",
    "missing_characters",
    "page_count",
    "rasterise",
    "rasterise_boxes",
    "rasterise_page",
    "shown",
    "text_width",
    "wrapped",
    "x_height",
]
