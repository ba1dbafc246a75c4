"""A PDF as grey pictures at a printer's resolution, dot for dot.

The library's plain ``render`` rounds the page up to whole pixels and stretches the drawing to them, which blurs
module edges; here the drawing is scaled by exactly dpi / 72 from the page's top left, with a matrix.
"""

import math
from collections.abc import Iterable, Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.errors import RasterError
from tracelabels.lengths import POINTS_PER_INCH

MAX_PIXELS: Final = 400_000_000
"""The largest page that is rasterised, in pixels (A3 at 1200 dpi has 278 million)."""


def page_count(pdf: bytes) -> int:
    """Return how many pages a PDF has.

    Raises:
        RasterError: the bytes are no readable PDF.
    """
    document = _open(pdf)
    try:
        return len(document)
    finally:
        document.close()


def rasterise(pdf: bytes, *, dpi: int) -> Iterator[NDArray[np.uint8]]:
    """Yield each page as a grey picture, shape (rows, columns), 0 black to 255 white.

    Raises:
        RasterError: the bytes are no readable PDF, or a page is larger than :data:`MAX_PIXELS`.
    """
    document = _open(pdf)
    try:
        for index in range(len(document)):
            yield _picture(document, index, dpi)
    finally:
        document.close()


def rasterise_page(pdf: bytes, *, index: int, dpi: int) -> NDArray[np.uint8]:
    """Return one page (counted from 0) as a grey picture; see :func:`rasterise`."""
    document = _open(pdf)
    try:
        if not 0 <= index < len(document):
            raise RasterError(
                given=f"page {index + 1} of a document with {len(document)}",
                expected=f"a page from 1 to {len(document)}",
                remedy="choose one of its pages",
            )
        return _picture(document, index, dpi)
    finally:
        document.close()


def rasterise_boxes(
    pdf: bytes, *, index: int, dpi: int, boxes: Iterable[tuple[int, int, int, int]]
) -> Iterator[NDArray[np.uint8]]:
    """Yield parts of one page as grey pictures: finer than a whole page could be held.

    Args:
        pdf: the document.
        index: the page, counted from 0.
        dpi: the resolution.
        boxes: (left, top, width, height) of each part in pixels at that resolution; what lies beyond the page is white.

    Raises:
        RasterError: the bytes are no readable PDF, it has no such page, or a part is larger than :data:`MAX_PIXELS`.
    """
    document = _open(pdf)
    try:
        page = _page(document, index)
        scale = dpi / POINTS_PER_INCH
        for left, top, width, height in boxes:
            _require_bounded(width, height, dpi)
            yield _rendered(page, scale, corner=(left, top), size=(width, height))
        page.close()
    finally:
        document.close()


def _open(pdf: bytes) -> Any:  # noqa: ANN401  the PDF library has no types
    import pypdfium2  # noqa: PLC0415  heavy: only who rasterises pays for it

    try:
        return pypdfium2.PdfDocument(pdf)
    except pypdfium2.PdfiumError as problem:
        raise RasterError(
            given=f"{len(pdf)} bytes that do not open as a PDF ({problem})",
            expected="a whole PDF without a password",
            remedy="save or export the document again",
        ) from problem


def _picture(document: Any, index: int, dpi: int) -> NDArray[np.uint8]:  # noqa: ANN401  the PDF library has no types
    page = _page(document, index)
    width, height = page.get_size()
    scale = dpi / POINTS_PER_INCH
    columns, rows = math.ceil(width * scale - 1e-4), math.ceil(height * scale - 1e-4)
    _require_bounded(columns, rows, dpi)
    picture = _rendered(page, scale, corner=(0, 0), size=(columns, rows))
    page.close()
    return picture


def _page(document: Any, index: int) -> Any:  # noqa: ANN401  the PDF library has no types
    import pypdfium2  # noqa: PLC0415

    try:
        return document[index]
    except (pypdfium2.PdfiumError, IndexError) as problem:
        raise RasterError(
            given=f"page {index + 1}, which does not load ({problem})",
            expected="a whole page",
            remedy="save the document again",
        ) from problem


def _rendered(page: Any, scale: float, *, corner: tuple[int, int], size: tuple[int, int]) -> NDArray[np.uint8]:  # noqa: ANN401  the PDF library has no types
    """Render the part of a page whose top left lies at a corner, in pixels."""
    import pypdfium2.raw as pdfium  # noqa: PLC0415

    columns, rows = size
    picture = np.full((rows, (columns + 3) // 4 * 4), 255, dtype=np.uint8)
    bitmap = pdfium.FPDFBitmap_CreateEx(
        picture.shape[1], rows, pdfium.FPDFBitmap_Gray, picture.ctypes.data, picture.strides[0]
    )
    matrix = pdfium.FS_MATRIX(scale, 0, 0, scale, -corner[0], -corner[1])
    clip = pdfium.FS_RECTF(0, 0, columns, rows)
    pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, clip, 0)
    pdfium.FPDFBitmap_Destroy(bitmap)
    return picture[:, :columns]


def _require_bounded(columns: int, rows: int, dpi: int) -> None:
    if columns < 1 or rows < 1 or columns * rows > MAX_PIXELS:
        raise RasterError(
            given=f"a page of {columns} x {rows} pixels at {dpi} dpi",
            expected=f"1 to {MAX_PIXELS} pixels",
            remedy="choose a lower resolution or a smaller page",
        )
