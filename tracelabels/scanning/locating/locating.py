"""The order of all this: outlines, starts, maps settled on the fixed pattern, then on the symbol's own modules."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from tracelabels.scanning.locating.descending import Looks
from tracelabels.scanning.locating.fitting import LOOKS, SURE, Fit, best_fit, fitted_in_rarer_looks
from tracelabels.scanning.locating.outlines import Outline
from tracelabels.scanning.locating.own_modules import settle_on_own_modules
from tracelabels.scanning.locating.searching import SEARCHES, find_starts
from tracelabels.scanning.locating.starting import Start, rough_starts
from tracelabels.scanning.locating.surface import as_module_map
from tracelabels.scanning.locating.window import Window, window_around
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.symbols import Symbology

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling import ModuleMap

LOCATED_SHAPES: Final = (
    *(
        SymbolShape(symbology=Symbology.DATA_MATRIX, version=version)
        for version in (
            "14x14", "16x16", "18x18", "20x20", "22x22", "24x24", "26x26", "8x32", "12x26", "12x36", "16x36", "16x48",
        )
    ),
    SymbolShape(symbology=Symbology.MICRO_QR, version="M4"),
    SymbolShape(symbology=Symbology.QR, version="2"),
    SymbolShape(symbology=Symbology.QR, version="3"),
)  # fmt: skip
"""What labels for tubes and pouches carry."""

WIDER_SHAPES: Final = (
    *(SymbolShape(symbology=Symbology.QR, version=version) for version in ("1", "4", "5", "6")),
    *LOCATED_SHAPES,
)
"""With what others print and whose fixed pattern is known here."""

_STARTS: Final = 5
_STARTS_A_SHAPE: Final = 2
_LEAST_CLOSE: Final = 0.68
"""Score below which a start is given up: of 83 right ones all had 0.75 or more, of 357 wrong ones half 0.68."""
_LEAST_SETTLED: Final = 0.72
"""The same for settled maps: right ones 0.76 or more, wrong ones half 0.67, a tenth 0.82."""
_LIKELY: Final = 0.88
"""Agreement from which a map is sampled before it is settled on own modules, too: both take as long."""
_LEAST_BESIDE_SURE: Final = 0.8
"""Score of the starts in the same outline that are still tried once a map is surely right: a small shape may be."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Located:
    """A place to sample; nothing is known of what it says."""

    shape: SymbolShape
    """What it is held to be."""
    place: "ModuleMap"
    """From modules to pixels of the picture."""
    agreement: float
    """With the fixed pattern, at most 1."""

    @property
    def is_sure(self) -> bool:
        """Say whether the symbol lies here, whether it can be read or not."""
        return self.agreement >= SURE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Site:
    """What is prepared to look within an outline, once or more often."""

    outline: Outline
    """Of the patch."""
    window: Window
    """The part of the picture around it."""
    shapes: tuple[SymbolShape, ...]
    """What may be there."""


def site_within(grey: "NDArray[np.uint8]", outline: Outline, shapes: tuple[SymbolShape, ...] = LOCATED_SHAPES) -> Site:
    """Prepare to look within an outline.

    Args:
        grey: the picture, shape (height, width).
        outline: of a patch that may be a symbol.
        shapes: what may be there.
    """
    return Site(outline=outline, window=window_around(grey, outline), shapes=shapes)


def locate(
    site: Site, *, searches: range = SEARCHES, has_time: "Callable[[], bool]" = lambda: True
) -> "Iterator[Located]":
    """Yield places to sample at a site, the likeliest first, each settled on fixed and then on own modules.

    Args:
        site: within an outline.
        searches: which are made (see :func:`find_starts`); without the first they start another way.
        has_time: whether another step may begin.
    """
    window, nodes = site.window, site.window.nodes_here(site.outline.nodes)
    starts = rough_starts(window, nodes, site.shapes, down_first=searches.start > 0)
    held: list[Fit] = []
    for start in _most_likely(find_starts(window, starts, searches=searches, has_time=has_time)):
        is_sure = any(one.agreement >= SURE for one in held)
        if not has_time():
            break
        if start.score < (_LEAST_BESIDE_SURE if is_sure else _LEAST_CLOSE):
            continue
        one = best_fit(window, start)
        if one.agreement >= _LEAST_SETTLED:
            held.append(one)
            yield from _with_own_modules(window, one, (one.looks,) if one.looks.spread else LOOKS)
    if held and has_time():
        best = max(held, key=lambda one: one.agreement)
        yield from _with_own_modules(window, *fitted_in_rarer_looks(window, best))


def _with_own_modules(window: Window, one: Fit, all_looks: tuple[Looks, ...]) -> "Iterator[Located]":
    if one.agreement >= _LIKELY:
        yield _located(window, one, one.surface)
    yield _located(window, one, settle_on_own_modules(window, one.start.shape, one.surface, all_looks))


def _located(window: Window, one: Fit, surface: "NDArray[np.float64]") -> Located:
    place = as_module_map(window.surface_in_picture(surface), fixed_cells(one.start.shape))
    return Located(shape=one.start.shape, place=place, agreement=one.agreement)


def _most_likely(starts: tuple[Start, ...]) -> "Iterator[Start]":
    """Yield the best starts, no more than two of one shape: a small shape finds many places in a large symbol."""
    count: dict[SymbolShape, int] = {}
    for start in starts:
        if count.get(start.shape, 0) < _STARTS_A_SHAPE:
            count[start.shape] = count.get(start.shape, 0) + 1
            yield start
        if sum(count.values()) == _STARTS:
            return
