"""The causes in their order, each with its limit and its words.

A module is called a square: that is what it looks like. Pixels are those of the picture that was given. The order is
that of sureness: what hides a code by itself comes before what only makes its measures unsure.
"""

from collections.abc import Callable, Iterable
from typing import Final

from tracelabels.scanning.advising.around import Side
from tracelabels.scanning.advising.findings import Cause, Finding
from tracelabels.scanning.advising.measuring import CodeMeasures

DARK: Final = 70.0
"""Grey level of stock below which a label is too dark."""
CONTRAST_NEEDED: Final = 40.0
"""Grey levels between print and stock."""
LEAST_CONTRAST: Final = 7.0
"""Grey levels below which nothing is told from noise: a bench with noise of 4 levels has patches of 5 to 6."""
_PIXELS_NEEDED: Final = 3.0
"""Pixels a module: below it the plain reader loses square symbols (50-88 % at 2.5)."""
_TOO_FEW: Final = 2.3
"""Pixels a module below which it is the cause: the sampler reads 2, and up to a fifth more are counted."""
_CLOSER: Final = ((1.25, " by a little"), (1.7, " by a third"), (2.4, ", to half the distance"))
"""Up to so many times too far."""
_CLOSEST: Final = ", to a third of the distance"
_GLARE_SHARE: Final = 0.03
_SHADOW: Final = 4.0
"""Times: a code whose dark half has a quarter of the light is still read."""
_DEEP_SHADOW: Final = 6.0
"""Times: a tube's rim may be 5 times darker than its middle."""
_SOFT: Final = 1.9
"""Samples: sharp pictures have 1.2 to 1.6."""
_SOFT_BOTH_WAYS: Final = 1.6
_SOFT_SHARE: Final = 0.33
"""Of a module: at a spread of half a module, of which two thirds are seen, the plain reader reads 0-19 %."""
_ONE_WAY: Final = 1.55
"""Times: edges along one axis are spread so much more than along the other, or"""
_TURNED: Final = 2.2
"""slopes in one direction are so much stronger: a picture out of focus has 1.4 at most."""
_LINES: Final = 2
_CUT: Final = 1.1
"""A module's width across the lines by that along them."""
_BENT: Final = 0.8
"""A module's width towards the rim of a tube by that along it."""
_DIMMED: Final = 0.93
_MUCH_DIMMED: Final = 0.86
"""Stock towards the rim of a tube by stock away from it: it turns away from the light; beside a finger it does not."""
_STEEP: Final = 0.62
_WORDS: Final = 0.35
"""Of the contrast: what varies by more beyond a side is print."""
_STOCK: Final = 0.83
_STOCK_AT_LAST: Final = 0.88
"""Of the level of stock next to a side: darker is none; the higher one where nothing else was found."""


def judge(measures: CodeMeasures) -> Finding:
    """Return why a code was not read, as far as it was measured.

    Args:
        measures: of a patch that is a code.
    """
    for find in _IN_ORDER:
        finding = find(measures)
        if finding is not None:
            return finding
    return _unknown(measures)


def _find_dark(measures: CodeMeasures) -> Finding | None:
    if measures.light >= DARK:
        return None
    return Finding(
        cause=Cause.TOO_DARK,
        sentence=f"the label is too dark (grey level {measures.light:.0f} of 255): more light",
    )


def _find_outside(measures: CodeMeasures) -> Finding | None:
    beyond = [side for side in measures.sides if side.is_outside]
    if not beyond:
        return None
    where = " and ".join(sorted({_where(side) for side in beyond}))
    return Finding(
        cause=Cause.OUTSIDE,
        sentence=f"only a part of the code is in the picture, it runs out at the {where}: show the whole label",
    )


def _find_glare(measures: CodeMeasures) -> Finding | None:
    if measures.glare <= _GLARE_SHARE:
        return None
    return Finding(
        cause=Cause.GLARE,
        sentence=f"glare covers {measures.glare:.0%} of the code: tilt the label or move the lamp",
    )


def glared(width: float) -> Finding:
    """Return that glare lies beside what is seen of a code.

    Args:
        width: of the glare, in pixels.
    """
    return Finding(
        cause=Cause.GLARE,
        sentence=f"glare about {round(width, -1):.0f} pixels wide hides a part of the code: "
        "tilt the label or move the lamp",
    )


def _find_shadow(measures: CodeMeasures) -> Finding | None:
    least = _DEEP_SHADOW if measures.squeezed < _STEEP else _SHADOW
    if measures.shadow <= least:
        return None
    return Finding(
        cause=Cause.SHADOW,
        sentence=f"a shadow lies over a part of the code, {measures.shadow:.0f} times darker than the rest: "
        "move the label out of it",
    )


def _find_pale(measures: CodeMeasures) -> Finding | None:
    contrast = measures.light - measures.dark
    return pale(contrast) if contrast < CONTRAST_NEEDED else None


def pale(contrast: float) -> Finding:
    """Return that print is too pale.

    Args:
        contrast: grey levels between print and stock.
    """
    return Finding(
        cause=Cause.PALE,
        sentence=f"code and label differ by only {contrast:.0f} grey levels of 255: more light; if the print itself is "
        "pale, enter it by hand and print the label anew",
    )


def _find_soft(measures: CodeMeasures) -> Finding | None:
    spread, step = measures.spread, measures.step
    if spread.most <= _SOFT or spread.most <= _SOFT_SHARE * max(measures.module):
        return None
    pixels, square = 2.0 * spread.most * step, max(measures.module) * step
    if spread.most > _ONE_WAY * spread.least or spread.turned > _TURNED:
        return Finding(
            cause=Cause.MOVED,
            sentence=f"moved: the code is blurred over about {pixels:.0f} pixels in one direction: "
            "rest your hand and hold still",
        )
    if spread.least < _SOFT_BOTH_WAYS:
        return None
    return Finding(
        cause=Cause.OUT_OF_FOCUS,
        sentence=f"out of focus: the code is blurred over about {pixels:.0f} pixels, its squares are {square:.0f} "
        "wide: hold still and let the camera focus",
    )


def _find_far(measures: CodeMeasures) -> Finding | None:
    if max(measures.module) >= _TOO_FEW:
        return None
    pixels = (measures.module[0] * measures.module[1]) ** 0.5 * measures.step
    times = _PIXELS_NEEDED / pixels
    closer = next((words for most, words in _CLOSER if times <= most), _CLOSEST)
    return Finding(
        cause=Cause.TOO_FAR,
        sentence=f"too far: {pixels:.1f} pixels for each square of the code, {_PIXELS_NEEDED:.0f} are needed: "
        f"come closer{closer}",
    )


def _find_damaged(measures: CodeMeasures) -> Finding | None:
    (rows, columns), (across, down) = measures.light_lines, measures.module
    lines, others = max(rows, columns), min(rows, columns)
    # Lines cut modules into narrower ones; a steep view blurs single modules into lines the other way.
    cuts = down < _CUT * across if rows > columns else across < _CUT * down
    if lines < _LINES or others > lines // 2 or not cuts:
        return None
    return Finding(
        cause=Cause.DAMAGED,
        sentence=f"the print is damaged, at least {lines} light lines run through the code: "
        "enter it by hand and print the label anew",
    )


def _find_bent(measures: CodeMeasures) -> Finding | None:
    """A tube's rim: something dark begins right beside the code, which gets narrower and dimmer towards it."""
    lightest = max(side.beyond for side in measures.sides)
    for number, side in enumerate(measures.sides):
        before, after = measures.sides[number - 1], measures.sides[(number + 1) % 4]
        falls = sorted((before.ends[1] / max(before.ends[0], 1.0), after.ends[0] / max(after.ends[1], 1.0)))
        is_narrow = side.module < _BENT * after.module
        is_bent = falls[1] < _DIMMED or (falls[0] < _MUCH_DIMMED and is_narrow)
        if is_bent and side.beyond < _STOCK * lightest:
            wide, narrow = after.module * measures.step, side.module * measures.step
            return Finding(
                cause=Cause.BENT_AWAY,
                sentence=f"the code bends away at the {_where(side)}, its squares are {wide:.1f} pixels long and only "
                f"{narrow:.1f} wide: turn the tube until the code faces the camera",
            )
    return None


def _find_steep(measures: CodeMeasures) -> Finding | None:
    if measures.squeezed >= _STEEP:
        return None
    wide, narrow = max(measures.module) * measures.step, min(measures.module) * measures.step
    return Finding(
        cause=Cause.STEEP,
        sentence=f"seen too much from the side, the code's squares are {wide:.1f} pixels long, only {narrow:.1f} wide: "
        "hold the camera straight above the label",
    )


def _find_covered(measures: CodeMeasures) -> Finding | None:
    """Something of one level begins right beside the code."""
    words = _WORDS * (measures.light - measures.dark)
    return _covered(side for side in measures.sides if not _is_stock(side) and side.unevenness < words)


def _find_partly_covered(measures: CodeMeasures) -> Finding | None:
    """Something begins beside the code that is light, lies at a slant or has words beside it."""
    return _covered(side for side in measures.sides if not _is_stock(side, least=_STOCK_AT_LAST))


def _covered(sides: Iterable[Side]) -> Finding | None:
    worst = min(sides, key=lambda side: side.beyond / max(side.stock, 1.0), default=None)
    if worst is None:
        return None
    return Finding(
        cause=Cause.COVERED,
        sentence=f"something lies over the code at the {_where(worst)}: uncover the whole code",
    )


def _unknown(measures: CodeMeasures) -> Finding:
    pixels, contrast = min(measures.module) * measures.step, measures.light - measures.dark
    return Finding(
        cause=Cause.UNKNOWN,
        sentence=f"the code is there and was not read, no cause was found ({pixels:.0f} pixels a square, "
        f"{contrast:.0f} grey levels of contrast): take it once more from straight above, else enter it by hand",
    )


def _is_stock(side: Side, *, least: float = _STOCK) -> bool:
    return side.is_outside or side.beyond > least * side.stock


def _where(side: Side) -> str:
    right, below = side.way
    if abs(right) > abs(below):
        return "right" if right > 0.0 else "left"
    return "bottom" if below > 0.0 else "top"


_IN_ORDER: Final[tuple[Callable[[CodeMeasures], Finding | None], ...]] = (
    _find_dark,
    _find_outside,
    _find_glare,
    _find_shadow,
    _find_pale,
    _find_far,
    _find_soft,
    _find_bent,
    _find_covered,
    _find_damaged,
    _find_steep,
    _find_partly_covered,
)
