"""The light margin round a symbol, measured in the picture up to the next dark dot or the label's edge."""

import math

import numpy as np

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import KIND_NAMES, Extent, extent_of, is_linear, runs_across
from tracelabels.legibility.subject import Subject
from tracelabels.symbols import Symbology

RULE = "quiet_zone"

REQUIRED = {
    Symbology.DATA_MATRIX: (1, "ISO/IEC 16022 (as the GS1 General Specifications quote it)"),
    Symbology.QR: (4, "ISO/IEC 18004; GS1 General Specifications 5.7.4.2"),
    Symbology.MICRO_QR: (2, "ISO/IEC 18004 (from memory)"),
    Symbology.CODE_128: (10, "ISO/IEC 15417 (as the GS1 General Specifications quote it)"),
}
"""Light modules on each side and where that stands."""

_DARK = 128
_ROUNDING = 0.05


def check(subject: Subject) -> Finding:
    """Measure the narrowest light margin and compare it with the symbology's standard."""
    needed, source = REQUIRED[subject.code.symbology]
    sides = clear_sides(subject, needed)
    side = min(sides, key=lambda name: sides[name])
    clear = sides[side] / subject.code.x
    good = clear >= needed - _ROUNDING
    plural = "module" if needed == 1 else "modules"
    return Finding(
        rule=RULE,
        verdict=Legibility.PASS if good else Legibility.FAIL,
        measured=f"{clear:.1f} modules ({sides[side] * subject.dot:.2f} mm) {side}, where it is narrowest",
        required=f"{needed} {plural} ({needed * subject.x_dimension:.2f} mm) for {KIND_NAMES[subject.code.symbology]}",
        source=source,
        fix="" if good else f"move the symbol or what is {side} by {(needed - clear) * subject.x_dimension:.2f} mm",
    )


def clear_sides(subject: Subject, needed: int) -> dict[str, float]:
    """Return how many dots are light on each side that must be: all four, of a linear code its two ends."""
    box = extent_of(subject.code)
    margin = round(needed * subject.code.x)
    picture = subject.picture
    found = {
        "on the left": _clear(picture, box, margin),
        "on the right": _clear(picture[:, ::-1], _mirrored(box, picture.shape[1]), margin),
        "above": _clear(picture.T, _transposed(box), margin),
        "below": _clear(picture[::-1].T, _mirrored(_transposed(box), picture.shape[0]), margin),
    }
    if not is_linear(subject.code):
        return found
    ends = ("on the left", "on the right") if runs_across(subject.code) else ("above", "below")
    return {side: found[side] for side in ends}


def _clear(picture: np.ndarray, box: Extent, margin: int) -> float:
    """Return how many columns left of a box are light, from its edge to the next dark dot or the picture's edge.

    A symbol off the dots may darken the dot beside its edge; that one is its own.
    """
    edge = round(box.left)
    if abs(box.left - edge) > _ROUNDING:
        edge = math.floor(box.left) - 1
    rows = slice(max(0, round(box.top) - margin), round(box.bottom) + margin)
    dark = (picture[rows, : max(0, edge)] < _DARK).any(axis=0)
    last = np.flatnonzero(dark)
    return box.left - (float(last[-1]) + 1 if last.size else 0.0)


def _mirrored(box: Extent, width: int) -> Extent:
    return Extent(left=width - box.right, top=box.top, width=box.width, height=box.height)


def _transposed(box: Extent) -> Extent:
    return Extent(left=box.top, top=box.left, width=box.height, height=box.width)
