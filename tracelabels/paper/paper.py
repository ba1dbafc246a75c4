"""Pages of a document, stamped with fragments and symbols, finished to the bytes of a PDF.

Everything is measured from the page's top left, y downwards. Symbols are placed in whole printer dots, so that
rasterising at the printer's resolution turns each module into whole pixels.
"""

import zlib
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.lengths import Dots, Mm
from tracelabels.paper.faces import Face, embedded_font
from tracelabels.paper.fragment import POINTS_PER_MM, TURNS, Fragment, symbol_path

if TYPE_CHECKING:
    from reportlab.pdfbase.pdfdoc import PDFDocument

_ESCAPES: Final = {ord("("): "\\(", ord(")"): "\\)", ord("\\"): "\\\\"}
_COMPRESSION: Final = 3  # of zlib: measured 2.2 times as fast as the default level for 6 % more bytes


class _Shelf:
    """The embedded fonts of one document: encodes text for the subset that the document will carry."""

    def __init__(self, document: "PDFDocument") -> None:
        self._document = document
        self._shown: dict[tuple[str, Face], tuple[tuple[str, str], ...]] = {}

    def show(self, text: str, face: Face) -> tuple[tuple[str, str], ...]:
        key = (text, face)
        known = self._shown.get(key)
        if known is None:
            if len(self._shown) > 4096:  # noqa: PLR2004  names, lots and captions recur, serials do not
                self._shown.clear()
            known = self._shown[key] = self._encode(text, face)
        return known

    def _encode(self, text: str, face: Face) -> tuple[tuple[str, str], ...]:
        font = embedded_font(face)
        return tuple(
            (font.getSubsetInternalName(subset, self._document), _operand(codes))
            for subset, codes in font.splitString(text, self._document)
        )


def _operand(codes: bytes) -> str:
    return f"({codes.decode('latin-1').translate(_ESCAPES)})"


class Paper:
    """A document under way: begin a page, draw on it, begin the next; then finish it to bytes."""

    def __init__(self, *, width: Mm, height: Mm, dpi: int, title: str) -> None:
        """Start a document without pages.

        Args:
            width: of each page.
            height: of each page.
            dpi: the printer's resolution, in which symbols are placed.
            title: shown by PDF viewers.
        """
        from reportlab.pdfbase.pdfdoc import PDFDocument  # noqa: PLC0415  heavy: only who draws pays for it

        # Invariant: the same drawing gives the same bytes, so that a printed file can be known by its digest.
        self._document = PDFDocument(compression=1, invariant=1)
        self._document.setTitle(title)
        self._document.setCreator("tracelabels")
        self._fonts = _Shelf(self._document)
        self._width = width * POINTS_PER_MM
        self._height = height * POINTS_PER_MM
        self._dpi = dpi
        self._pages = 0
        self._ops: list[str] | None = None
        self._pictures: dict[str, Any] = {}

    @property
    def pages(self) -> int:
        """How many pages have been begun."""
        return self._pages

    def begin_page(self) -> None:
        """End the page under way, if any, and begin the next."""
        self._end_page()
        self._ops = []
        self._pages += 1

    def fragment(self) -> Fragment:
        """Return an empty piece of drawing for this document."""
        return Fragment(self._fonts)

    def stamp(self, fragment: Fragment, *, left: Mm, top: Mm, quarter_turns: int = 0) -> None:
        """Draw a fragment with its origin at a place, turned counter-clockwise about its origin."""
        x, y = left * POINTS_PER_MM, self._height - top * POINTS_PER_MM
        self._page().append(f"q {TURNS[quarter_turns % 4]} {x:.4f} {y:.4f} cm\n{fragment.operators}Q\n")

    def symbol(self, modules: NDArray[np.bool_], *, left: Dots, top: Dots, x: Dots) -> None:
        """Draw a symbol's dark modules on whole printer dots.

        Args:
            modules: shape (rows, columns), True is dark; a linear code's row is repeated to its height.
            left: dots from the page's left edge to the first column.
            top: dots from the page's top edge to the first row.
            x: dots a module.
        """
        path = symbol_path(dark_runs(modules), left=left, top=top, x=x, dpi=self._dpi, page_height=self._height)
        self._page().append(path)

    def picture(self, pixels: NDArray[np.uint8], *, left: Mm, top: Mm, width: Mm, height: Mm) -> None:
        """Draw a picture, for reports; labels have none.

        Args:
            pixels: shape (rows, columns) grey or (rows, columns, 3) red, green, blue.
            left: from the page's left edge.
            top: from the page's top edge.
            width: on the page; the picture is stretched to it.
            height: on the page.
        """
        page = self._page()
        name = f"Im{len(self._pictures) + 1}"
        reference = self._document.Reference(_picture_stream(pixels), f"picture {self._pages}.{name}")
        self._pictures[name] = reference
        w, h = width * POINTS_PER_MM, height * POINTS_PER_MM
        x, y = left * POINTS_PER_MM, self._height - (top + height) * POINTS_PER_MM
        page.append(f"q {w:.4f} 0 0 {h:.4f} {x:.4f} {y:.4f} cm /{name} Do Q\n")

    def finish(self) -> bytes:
        """Return the document as the bytes of a PDF; it cannot be drawn on afterwards."""
        if not self._pages:
            self.begin_page()
        self._end_page()
        data: bytes = self._document.GetPDFData(None)
        return data

    def _page(self) -> list[str]:
        if self._ops is None:
            self.begin_page()
        assert self._ops is not None  # noqa: S101  begin_page sets it; this line is for the type checker
        return self._ops

    def _end_page(self) -> None:
        if self._ops is None:
            return
        from reportlab.pdfbase import pdfdoc  # noqa: PLC0415

        page = pdfdoc.PDFPage()
        page.MediaBox = pdfdoc.PDFArray([0, 0, self._width, self._height])
        page.Resources = pdfdoc.PDFResourceDictionary()
        page.Resources.basicFonts()
        page.Resources.allProcs() if self._pictures else page.Resources.basicProcs()
        if self._pictures:
            page.Resources.XObject = pdfdoc.PDFDictionary(self._pictures)
            self._pictures = {}
        # Compressed here and not at the end, so that a long run holds each page in its small form only.
        page.Contents = _compressed_stream("".join(self._ops).encode("latin-1"))
        self._document.addPage(page)
        self._ops = None


def _compressed_stream(content: bytes) -> Any:  # noqa: ANN401  the PDF library has no types
    from reportlab.pdfbase import pdfdoc  # noqa: PLC0415

    dictionary = pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFName("FlateDecode")})
    return pdfdoc.PDFStream(dictionary=dictionary, content=zlib.compress(content, _COMPRESSION))


def _picture_stream(pixels: NDArray[np.uint8]) -> Any:  # noqa: ANN401  the PDF library has no types
    from reportlab.pdfbase import pdfdoc  # noqa: PLC0415

    rows, columns = pixels.shape[:2]
    facts = {
        "Type": pdfdoc.PDFName("XObject"),
        "Subtype": pdfdoc.PDFName("Image"),
        "Width": columns,
        "Height": rows,
        "ColorSpace": pdfdoc.PDFName("DeviceGray" if pixels.ndim == 2 else "DeviceRGB"),  # noqa: PLR2004  one level, or three
        "BitsPerComponent": 8,
        "Filter": pdfdoc.PDFName("FlateDecode"),
    }
    content = zlib.compress(np.ascontiguousarray(pixels).tobytes(), _COMPRESSION)
    return pdfdoc.PDFStream(dictionary=pdfdoc.PDFDictionary(facts), content=content)


def dark_runs(modules: NDArray[np.bool_]) -> list[tuple[int, int, int]]:
    """Return (row, first column, column after the last) of each run of dark modules, row by row."""
    rows, columns = modules.shape
    edged = np.zeros((rows, columns + 2), dtype=np.int8)
    edged[:, 1:-1] = modules
    row, column = np.nonzero(edged[:, 1:] != edged[:, :-1])
    found = column.tolist()
    return list(zip(row[::2].tolist(), found[::2], found[1::2], strict=True))
