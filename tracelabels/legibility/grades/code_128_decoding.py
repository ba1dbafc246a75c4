"""Code 128 by its edges: the reference decoder's distances, and the room that it has left (decodability).

A character has six elements, bar first, over S = 11 modules. The decoder takes the four distances from an edge to the
next one of the same kind (each a bar and a space) and compares them with the thresholds RT = (k + 0.5) S / 11 for
k from 1 to 7; the widths of the bars alone, summed, have to be even in modules. So growth of all bars, which moves both
edges of a kind alike, costs nothing in the first and something in the second.

Source: ISO/IEC 15417 and the annex on decodability of ISO/IEC 15416, both from memory:

    V1 = min |e - RT| / (S / 22),     V2 = (1.75 - |11 Wb / S - M|) / 1.75,

Wb the sum of the bars as measured and M the same in modules. V is the lowest over all characters, at most 1.
"""

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

MODULES_PER_CHARACTER: Final = 11
ELEMENTS_PER_CHARACTER: Final = 6
_STOP_ELEMENTS: Final = 7
_BAR_ROOM: Final = 1.75
_DISTANCES: Final = 4


def element_widths(modules: "NDArray[np.bool_]") -> "NDArray[np.intp]":
    """Return the widths in modules of bars and spaces in turn.

    Args:
        modules: one row of a symbol, True is dark; the first and the last are dark.
    """
    changes = np.flatnonzero(modules[1:] != modules[:-1]) + 1
    return np.diff(np.concatenate([[0], changes, [len(modules)]]))


def decodability(edges: "NDArray[np.float64]", expected: "NDArray[np.intp]") -> float | None:
    """Return V of a scan line; None if the reference decoder would not make these characters of it.

    Args:
        edges: places of all edges in any unit, the first bar's left edge first.
        expected: widths in modules of all bars and spaces, the stop character's seven last.
    """
    if len(edges) != len(expected) + 1:
        return None
    widths = np.diff(edges)
    characters = (len(expected) - _STOP_ELEMENTS) // ELEMENTS_PER_CHARACTER + 1
    rooms = []
    for number in range(characters):
        part = slice(ELEMENTS_PER_CHARACTER * number, ELEMENTS_PER_CHARACTER * (number + 1))
        room = _room(widths[part], expected[part])
        if room is None:
            return None
        rooms.append(room)
    return max(0.0, min(1.0, *rooms))


def _room(widths: "NDArray[np.float64]", expected: "NDArray[np.intp]") -> float | None:
    """Return V of one character; None if it would be taken for another."""
    module = widths.sum() / MODULES_PER_CHARACTER
    similar = (widths[:_DISTANCES] + widths[1 : _DISTANCES + 1]) / module
    wanted = expected[:_DISTANCES] + expected[1 : _DISTANCES + 1]
    off = np.abs(similar - wanted)
    bars = abs(widths[0::2].sum() / module - expected[0::2].sum())
    if (off >= 0.5).any() or bars >= _BAR_ROOM:  # noqa: PLR2004  halfway to the next whole module
        return None
    return float(min((0.5 - off.max()) / 0.5, (_BAR_ROOM - bars) / _BAR_ROOM))
