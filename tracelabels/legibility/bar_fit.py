"""The bars of a linear symbol in a clean picture: where they begin, how wide a module is, how long they are.

Code 128 has 11 modules a character and 13 for the last (ISO/IEC 15417), so that the number of modules is 11 n + 2, the
last character counted. The least number is taken in which every bar and gap is one to four whole modules.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.legibility.grid_fit import FittedGrid, Ink, Span, find_span

_CHARACTER: Final = 11
_STOP_EXTRA: Final = 2
_FEWEST_CHARACTERS: Final = 4
_MOST_CHARACTERS: Final = 90
_WIDEST: Final = 4
_EDGES: Final = 6
_LARGEST_MISS: Final = 0.3
_DARK: Final = 0.5


def find_bars(ink: Ink, down: Span) -> FittedGrid | None:
    """Measure bars that stand upright; None if they make up no Code 128.

    Args:
        ink: The picture of this symbol and a part of its quiet zones, 0 light to 1 dark, shape (height, width).
        down: Where the bars begin and end, about.
    """
    middle, reach = (down.start + down.end) / 2, (down.end - down.start) / 4
    line = ink[int(middle - reach) : int(middle + reach) + 1].mean(axis=0)[None, :]
    edges = _edges(line[0])
    modules = None if edges.size < _FEWEST_CHARACTERS * _EDGES else _modules(edges)
    if modules is None:
        return None
    across = Span(start=float(edges[0]), end=float(edges[-1]))
    span = find_span(line, modules, across)
    if span is None:
        return None
    top, bottom = _length(ink, across, down)
    return FittedGrid(left=span.start, top=top, x=span.pitch(modules.shape[1]), y=bottom - top, modules=modules)


def _edges(line: Ink) -> NDArray[np.float64]:
    dark = line > _DARK
    return np.asarray(np.flatnonzero(dark[1:] != dark[:-1]) + 1, dtype=np.float64)


def _modules(edges: NDArray[np.float64]) -> NDArray[np.bool_] | None:
    """Return the modules as one row, from the widths of bars and gaps."""
    widths = np.diff(edges)
    for characters in range(_FEWEST_CHARACTERS, _MOST_CHARACTERS):
        count = _CHARACTER * characters + _STOP_EXTRA
        module = (edges[-1] - edges[0]) / count
        whole = np.rint(widths / module).astype(int)
        if whole.sum() == count and _fits(widths / module, whole):
            return np.repeat(np.arange(whole.size) % 2 == 0, whole)[None, :]
    return None


def _fits(widths: NDArray[np.float64], whole: NDArray[np.int_]) -> bool:
    return bool(whole.min() >= 1 and whole.max() <= _WIDEST and np.abs(widths - whole).max() < _LARGEST_MISS)


def _length(ink: Ink, across: Span, down: Span) -> tuple[float, float]:
    """Return where the first bar begins and ends, from its ink."""
    column = ink[:, round(across.start) : round(across.start) + max(1, round((across.end - across.start) / 400))]
    bar = column.mean(axis=1)
    middle = round((down.start + down.end) / 2)
    light_above = np.flatnonzero(bar[:middle] < _DARK)
    light_below = np.flatnonzero(bar[middle:] < _DARK)
    top = int(light_above[-1]) + 1 if light_above.size else 0
    bottom = middle + int(light_below[0]) if light_below.size else bar.size
    return float(top), float(bottom)
