"""Contrast of ink and stock, as a scanner's red light at 660 nm sees them."""

import numpy as np

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import extent_of, is_linear, runs_across
from tracelabels.legibility.rules.stock import SEEN_AS_LIGHT, Stock, Tint
from tracelabels.legibility.subject import Subject

CONTRAST_RULE = "contrast"
COLOUR_RULE = "colour"
GRADES = ((0.70, 4), (0.55, 3), (0.40, 2), (0.20, 1))
"""Least symbol contrast of each grade, ISO/IEC 15415:2011 and 15416 (from a public manual)."""

CONTRAST_SOURCE = "ISO/IEC 15415:2011 and 15416, symbol contrast"
COLOUR_SOURCE = "physics of red light at 660 nm (GS1 grades name it): red ink reflects it as white paper does"

_LEAST_GOOD = 2
_TYPICAL = Stock(name="black on white (assumed)")
_FULL = 255.0
_RED_INK = "print black, or dark blue or green, never red, orange or yellow"
_RED_STOCK = "take white stock: a phone sees a coloured one darker than a scanner does"


def check(subject: Subject, *, stock: Stock | None) -> tuple[Finding, ...]:
    """Judge the contrast of the greys in the file on this stock, and colours that red light sees otherwise."""
    findings = [_contrast(subject, stock)]
    if stock is not None:
        findings.append(_colour(stock))
    return tuple(findings)


def _contrast(subject: Subject, stock: Stock | None) -> Finding:
    on = stock or _TYPICAL
    dark, light = _levels(subject)
    contrast = (light - dark) * (on.light - on.dark)
    grade = next((grade for least, grade in GRADES if contrast >= least), 0)
    verdict = Legibility.PASS if grade >= _LEAST_GOOD else Legibility.WARN if grade else Legibility.FAIL
    return Finding(
        rule=CONTRAST_RULE,
        verdict=verdict,
        measured=f"{contrast:.0%} predicted on {on.name}, grade {grade}",
        required="at least 40 % (grade 2); 70 % for grade 4",
        source=CONTRAST_SOURCE,
        fix="" if verdict is Legibility.PASS else _darker(light - dark, on),
    )


def _darker(share: float, stock: Stock) -> str:
    if share < 1 and stock.light - stock.dark >= GRADES[2][0]:
        return "draw the symbol in full black on white"
    return f"a stock and an ink whose reflectances differ by at least {GRADES[2][0]:.0%} at 660 nm"


def _levels(subject: Subject) -> tuple[float, float]:
    """Return how light the symbol's dark and light modules are in the file, 0 black to 1 white."""
    code = subject.code
    rows, columns = code.modules.shape
    box = extent_of(code)
    height, width = box.height / rows, box.width / columns
    if is_linear(code):  # one row of upright bars, or one column of lying ones: the middle of the bars
        height, width = (box.height, code.x) if runs_across(code) else (code.x, box.width)
    down = (box.top + (np.arange(rows) + 0.5) * height).astype(int)
    across = (box.left + (np.arange(columns) + 0.5) * width).astype(int)
    seen = subject.picture[np.ix_(down, across)] / _FULL
    return float(np.median(seen[code.modules])), float(np.median(seen[~code.modules]))


def _colour(stock: Stock) -> Finding:
    verdict, fix = Legibility.PASS, ""
    measured = f"{stock.ink_tint} ink on {stock.stock_tint} stock"
    if stock.ink_tint in SEEN_AS_LIGHT:
        verdict, fix = Legibility.FAIL, _RED_INK
        measured += ": red light does not see the ink"
    elif stock.stock_tint is not Tint.WHITE:
        verdict, fix = Legibility.WARN, _RED_STOCK
        seen = "white" if stock.stock_tint in SEEN_AS_LIGHT else "dark"
        measured += f": red light sees the stock {seen}"
    return Finding(
        rule=COLOUR_RULE,
        verdict=verdict,
        measured=measured,
        required="ink that is dark and stock that is light in red light and in daylight",
        source=COLOUR_SOURCE,
        fix=fix,
    )
