"""A PNG of each label at the printer's resolution, for label printers that take pictures."""

import io
from collections.abc import Iterator

from tracelabels.labels.sheets import Sheet
from tracelabels.labels.typesetting import Typeset
from tracelabels.lengths import nearest_dots
from tracelabels.paper import rasterise


def typeset_pictures(typeset: Typeset, *, sheet: Sheet) -> Iterator[bytes]:
    """Cut each label of a run out of its rasterised pages.

    The pictures are made from the PDF itself, so that a proof of the PDF holds for them.

    Args:
        typeset: The run; printed with a printer without offset and scale, or the labels are cut where the sheet says.
        sheet: The sheet that it was set on.

    Yields:
        A grey PNG, one pixel a printer dot, in the order of printing; it carries its resolution.
    """
    from PIL import Image  # noqa: PLC0415  heavy: only who makes pictures pays for it

    dpi = typeset.dpi
    width, height = nearest_dots(sheet.label_width, dpi), nearest_dots(sheet.label_height, dpi)
    labels = iter(typeset.placed)
    label = next(labels, None)
    for number, page in enumerate(rasterise(typeset.pdf, dpi=dpi)):
        while label is not None and label.page == number:
            x, y = sheet.corner(label.slot)
            left, top = nearest_dots(x, dpi), nearest_dots(y, dpi)
            with io.BytesIO() as png:
                cut = page[top : top + height, left : left + width]
                Image.fromarray(cut).save(png, format="PNG", dpi=(dpi, dpi))
                yield png.getvalue()
            label = next(labels, None)
