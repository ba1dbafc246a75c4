"""Numbers and places in words, for reasons that people read."""

from typing import Final

from tracelabels.custody import ProbePlace
from tracelabels.cycles.programme import Band
from tracelabels.cycles.readings import Span
from tracelabels.words import some

PLACES: Final = {
    ProbePlace.CHAMBER: "in the chamber",
    ProbePlace.REFERENCE_TUBE: "in the reference tube",
    ProbePlace.UNKNOWN: "at a place that is not known",
}


MOST_DIGITS: Final = 4


def plain(value: float, *, beside: float | None = None) -> str:
    """Write a number with one decimal, or with as many as show that it is neither nought nor the number beside it.

    >>> plain(134.0), plain(0.012), plain(2.987, beside=3), plain(3.04, beside=3)
    ('134', '0.01', '2.99', '3.04')
    """
    others = [other for other in (0.0, beside) if other is not None and other != value]
    digits = 1
    while digits < MOST_DIGITS and any(round(value, digits) == round(other, digits) for other in others):
        digits += 1
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return text.removeprefix("-") if float(text) == 0 else text


def band_in_words(band: Band) -> str:
    """Write a band: ``134 to 137 °C``, or ``132 °C or more``."""
    if band.above_k is None:
        return f"{plain(band.set_c)} °C or more"
    return f"{plain(band.set_c)} to {plain(band.set_c + band.above_k)} °C"


def minute_of(seconds: float) -> str:
    """Write a time since the first reading: ``minute 12.3``."""
    return f"minute {seconds / 60:.1f}"


def spans_in_words(spans: tuple[Span, ...]) -> str:
    """Write stretches of time: ``minute 3.0 to 4.5``."""
    return some(f"{minute_of(one.start_s)} to {one.end_s / 60:.1f}" for one in spans)
