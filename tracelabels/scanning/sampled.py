"""The deepest way to read a symbol: its modules are located, sampled and decoded one by one.

It is the slowest attempt, and the last. What it says must pass the guards like any deep reading; how much of a symbol
may be missing is limited by chance (see :mod:`tracelabels.scanning.sampling.erasing`).
"""

from collections.abc import Callable, Iterable, Iterator
from itertools import product
from typing import TYPE_CHECKING, Final

from tracelabels.scanning.locating import SEARCHES, Located, Outline, Site, find_outlines, locate, site_within
from tracelabels.scanning.merging import same_place
from tracelabels.scanning.one_core import on_one_core
from tracelabels.scanning.picture import Corners
from tracelabels.scanning.sampling import SymbolShape, read_sampled
from tracelabels.symbols import RawReading

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLED: Final = "modules sampled"
"""What a reading's ``how`` says."""
_PASSES: Final = (SEARCHES[:1], SEARCHES[1:])
"""Searches: each of some outlines is looked at once before any of them is looked at more thoroughly."""
_LIKELIEST: Final = 2
"""Outlines: a symbol's own is mostly the first, and a third of a second goes into looking at one thoroughly."""


def read_by_modules(
    grey: "NDArray[np.uint8]",
    shapes: tuple[SymbolShape, ...],
    *,
    outlines: tuple[Outline, ...] | None = None,
    accepts: Callable[[RawReading], bool],
    is_wanted: Callable[[Corners], bool],
    has_time: Callable[[], bool],
) -> Iterator[RawReading]:
    """Yield what the modules of unread symbols say.

    Args:
        grey: the picture, shape (height, width).
        shapes: what may be there.
        outlines: of the picture, if they were found already; the likeliest first.
        accepts: whether a reading may be believed: the guards.
        is_wanted: whether the patch with these corners is worth looking at; asked again after each reading.
        has_time: whether another attempt may start.
    """
    if not has_time():
        return
    given_up: list[Outline] = []
    sites: dict[Outline, Site] = {}
    for searches, outline in _in_turn(find_outlines(grey, has_time=has_time) if outlines is None else outlines):
        if not has_time():
            return
        if not is_wanted(outline.corners) or any(
            one is not outline and same_place(outline.corners, one.corners) for one in given_up
        ):
            continue
        with on_one_core():
            if outline not in sites:
                sites[outline] = site_within(grey, outline, shapes)
            places = locate(sites[outline], searches=searches, has_time=has_time)
            reading, is_there = _read_at(grey, places, accepts, has_time)
        if reading is not None:
            yield reading
        elif is_there:
            given_up.append(outline)


def _in_turn(outlines: "tuple[Outline, ...]") -> Iterator[tuple[range, Outline]]:
    """Yield outlines with the searches to be made: the likeliest are looked at thoroughly before the others at all."""
    for part in (outlines[:_LIKELIEST], outlines[_LIKELIEST:]):
        yield from product(_PASSES, part)


def _read_at(
    grey: "NDArray[np.uint8]",
    places: Iterable[Located],
    accepts: Callable[[RawReading], bool],
    has_time: Callable[[], bool],
) -> tuple[RawReading | None, bool]:
    """Return what a symbol at one of the places says, if anything, and whether one is surely there."""
    is_there = False
    for located in places:
        reading = read_sampled(grey, located.shape, located.place, accepts=accepts)
        is_there = is_there or located.is_sure
        if reading is not None or not has_time():
            return reading, is_there
    return None, is_there
