"""A label with its code in another shape, in the same place: what would it be if the code were a square?"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tracelabels.errors import TracelabelsError
from tracelabels.labels import Layout
from tracelabels.legibility.rules.extent import Extent, extent_of
from tracelabels.legibility.rules.quiet_zones import REQUIRED
from tracelabels.legibility.subject import PrintedCode, Subject
from tracelabels.symbols import ChoicePolicy, ChosenSymbol, DataMatrixShape, Space, choose_symbol, payload_as_read

_WHITE = 255


def reshape(
    subject: Subject, layout: Layout, *, quarter_turns: int, shapes: Sequence[DataMatrixShape]
) -> Subject | None:
    """Return a label with its Data Matrix in another shape; None if none of the shapes fits.

    Args:
        subject: The label as it is.
        layout: Its layout.
        quarter_turns: How the layout lies in the picture.
        shapes: The shapes allowed.
    """
    place, turned = layout.symbol, bool(quarter_turns % 2)
    width, height = (place.height, place.width) if turned else (place.width, place.height)
    try:
        chosen = choose_symbol(
            payload_as_read(subject.code.text, subject.code.symbology_identifier),
            Space(width=width, height=height, tube_diameter=subject.tube_diameter, axis=subject.axis),
            dpi=subject.dpi,
            smallest_x=place.smallest_x,
            largest_x=place.largest_x,
            policy=ChoicePolicy(shapes=frozenset(shapes)),
        )
    except TracelabelsError:
        return None
    return _with_code(subject, chosen)


def _with_code(subject: Subject, chosen: ChosenSymbol) -> Subject:
    """Paint another code over the old one, their middles together."""
    old = extent_of(subject.code)
    width, height = chosen.size
    left, top = round(old.left + (old.width - width) / 2), round(old.top + (old.height - height) / 2)
    picture = subject.picture.copy()
    picture[_rows(old), _columns(old)] = _WHITE
    margin = REQUIRED[subject.code.symbology][0] * chosen.x
    new = Extent(left=left - margin, top=top - margin, width=width + 2 * margin, height=height + 2 * margin)
    picture[_rows(new), _columns(new)] = _WHITE
    dots = np.kron(chosen.modules, np.ones((chosen.x, chosen.x), dtype=np.bool_))
    picture[top : top + height, left : left + width] = np.where(dots, 0, _WHITE)
    code = PrintedCode(
        symbology=subject.code.symbology,
        symbology_identifier=subject.code.symbology_identifier,
        version=chosen.symbol.version,
        text=subject.code.text,
        modules=chosen.modules,
        left=float(left),
        top=float(top),
        x=float(chosen.x),
        y=float(chosen.x),
    )
    return replace(subject, picture=picture, code=code)


def _rows(box: Extent) -> slice:
    return slice(max(0, round(box.top)), round(box.bottom))


def _columns(box: Extent) -> slice:
    return slice(max(0, round(box.left)), round(box.right))
