"""The proof: the very file that will be printed is rasterised at the printer's resolution and read back.

Three walls, each enough to hold a sheet back: every module stands on whole black or white dots and equals what was
meant; nothing dark lies in the quiet zone; an independent reader, given only the picture of that symbol and its
quiet zone, returns byte for byte what it should say.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from tracelabels.labels import PlacedLabel
from tracelabels.lengths import Dots
from tracelabels.paper import rasterise
from tracelabels.symbols import ReadEffort, Symbology, read_symbols

GREY_TOLERANCE: Final = 4
"""Levels of 255 by which a dot may differ from black or white: the renderer's rounding is 2 at most, a dot cut by
an edge differs by far more."""

QUIET_ZONES: Final = {Symbology.DATA_MATRIX: 1, Symbology.QR: 4, Symbology.MICRO_QR: 2, Symbology.CODE_128: 10}
"""Light modules that each symbology's standard asks for: ISO/IEC 16022, 18004, 15417 (Micro QR's from memory)."""

_KINDS: Final = {"d": Symbology.DATA_MATRIX, "Q": Symbology.QR, "C": Symbology.CODE_128}  # ISO/IEC 15424 letters


class Progress(Protocol):
    """Told how far a long proof has come."""

    def __call__(self, done: int, total: int | None = None) -> None:
        """Say that so many labels of the total are proved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofFailure:
    """One label that does not say what it should."""

    page: int
    """Counted from 1."""
    row: int
    """Of the sheet, counted from 1."""
    column: int
    """Of the sheet, counted from 1."""
    expected: str
    """What the symbol should say."""
    found: str
    """What is wrong with it, in words."""


def prove(
    pdf: bytes, placed: Sequence[PlacedLabel], *, dpi: int, progress: Progress | None = None
) -> tuple[ProofFailure, ...]:
    """Rasterise a document and read every symbol back.

    Args:
        pdf: the document as it will be printed.
        placed: what stands where, in the order of pages.
        dpi: the printer's resolution.
        progress: told after each page.

    Returns:
        What failed, in order; empty if every label is as it should be.
    """
    failures: list[ProofFailure] = []
    done = 0
    by_page = groupby(placed, key=lambda label: label.page)
    for number, page in enumerate(rasterise(pdf, dpi=dpi)):
        labels = _of_page(by_page, number)
        failures += _failures(page, labels)
        done += len(labels)
        if progress is not None:
            progress(done, len(placed))
    if done != len(placed):
        failures.append(
            ProofFailure(page=0, row=0, column=0, expected=f"{len(placed)} labels", found=f"pages for {done} only")
        )
    return tuple(failures)


def _of_page(by_page: Iterator[tuple[int, Iterable[PlacedLabel]]], number: int) -> list[PlacedLabel]:
    page, labels = next(by_page, (number, ()))
    return list(labels) if page == number else []


def _failures(page: NDArray[np.uint8], labels: Iterable[PlacedLabel]) -> list[ProofFailure]:
    return [
        ProofFailure(
            page=label.page + 1, row=label.row + 1, column=label.column + 1, expected=label.payload.text, found=found
        )
        for label in labels
        if (found := fault(page, label))
    ]


def fault(page: NDArray[np.uint8], label: PlacedLabel) -> str:
    """Return what is wrong with a label on its rasterised page, or an empty text."""
    modules = label.modules
    beside, above = quiet_zone(label, modules)
    height, width = modules.shape[0] * label.x, modules.shape[1] * label.x
    top, left = label.top - above, label.left - beside
    crop = page[max(top, 0) : top + height + 2 * above, max(left, 0) : left + width + 2 * beside]
    if top < 0 or left < 0 or crop.shape != (height + 2 * above, width + 2 * beside):
        return "the symbol or its quiet zone leaves the page"
    inner = crop[above : above + height, beside : beside + width]
    return _dots_fault(inner, modules, label.x) or _quiet_fault(crop, inner) or _reading_fault(crop, label)


def quiet_zone(label: PlacedLabel, modules: NDArray[np.bool_]) -> tuple[Dots, Dots]:
    """Return how many dots must stay light (beside, above and below) a symbol."""
    kind = symbology_of(label)
    width = QUIET_ZONES[kind] * label.x
    if kind is not Symbology.CODE_128:
        return Dots(width), Dots(width)
    return (Dots(width), Dots(0)) if bars_stand_upright(modules) else (Dots(0), Dots(width))


def bars_stand_upright(modules: NDArray[np.bool_]) -> bool:
    """Say whether the bars of a linear symbol, of any height, run from its top to its bottom."""
    return bool((modules[0] == modules[-1]).all())


def symbology_of(label: PlacedLabel) -> Symbology:
    """Return the kind of symbol that a label carries."""
    kind = _KINDS[label.symbology_identifier[1]]
    return Symbology.MICRO_QR if kind is Symbology.QR and label.symbol.version.startswith("M") else kind


def _dots_fault(inner: NDArray[np.uint8], modules: NDArray[np.bool_], x: int) -> str:
    rows, columns = modules.shape
    dots = inner.reshape(rows, x, columns, x)
    lightest, darkest = dots.max(axis=(1, 3)), dots.min(axis=(1, 3))
    wrong = np.where(modules, lightest > GREY_TOLERANCE, darkest < 255 - GREY_TOLERANCE)
    if not wrong.any():
        return ""
    row, column = np.argwhere(wrong)[0]
    count = int(wrong.sum())
    return f"{count} modules are not whole dots of the right colour, the first in row {row + 1}, column {column + 1}"


def _quiet_fault(crop: NDArray[np.uint8], inner: NDArray[np.uint8]) -> str:
    dark = np.count_nonzero(crop < 255 - GREY_TOLERANCE) - np.count_nonzero(inner < 255 - GREY_TOLERANCE)
    return f"{dark} dots in the quiet zone are not white" if dark else ""


def _turns_to_upright(kind: Symbology, modules: NDArray[np.bool_]) -> int:
    """Return the counter-clockwise quarter turns after which a symbol stands as its standard draws it.

    The plain effort, which costs least, reads upright symbols only: bars upright, a Data Matrix's solid edges on the
    left and at the bottom (ISO/IEC 16022).
    """
    if kind is Symbology.CODE_128:
        return 0 if bars_stand_upright(modules) else 1
    if kind is not Symbology.DATA_MATRIX:
        return 0
    turned = ((turns, np.rot90(modules, turns)) for turns in range(4))
    return next((turns for turns, one in turned if one[:, 0].all() and one[-1].all()), 0)


def _reading_fault(crop: NDArray[np.uint8], label: PlacedLabel) -> str:
    kind = symbology_of(label)
    framed = np.pad(crop, 2 * label.x, constant_values=255)
    upright = np.ascontiguousarray(np.rot90(framed, _turns_to_upright(kind, label.modules)))
    readings = read_symbols(upright, kinds=frozenset({kind}), effort=ReadEffort.PLAIN)
    if len(readings) != 1:
        return f"the reader finds {len(readings)} symbols"
    reading = readings[0]
    if reading.symbology_identifier != label.symbology_identifier:
        return f"it reads as {reading.symbology_identifier}, not {label.symbology_identifier}"
    if reading.data != label.payload.text.encode():
        return f"it reads {reading.text!r}"
    return ""
