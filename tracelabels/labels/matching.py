"""Which layout goes on which label, and turned how."""

from dataclasses import dataclass
from typing import Final

from tracelabels.errors import LabelError
from tracelabels.labels.layouts import Layout
from tracelabels.labels.sheets import Sheet

_TOLERANCE: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Whether a layout goes on a sheet's labels.

    Attributes:
        quarter_turns: Counter-clockwise quarter turns of the layout, 0 or 1; None if it does not go.
        reason: Why it does not go; empty if it does.
    """

    quarter_turns: int | None
    reason: str

    def __bool__(self) -> bool:
        """Say whether it goes."""
        return self.quarter_turns is not None


def fits(layout: Layout, sheet: Sheet) -> Fit:
    """Say whether a layout goes on a sheet's labels: as it is, or else turned a quarter."""
    if layout.is_round != sheet.is_round:
        kinds = ("discs", "rectangular labels") if layout.is_round else ("rectangular labels", "discs")
        return Fit(quarter_turns=None, reason=f"{layout.name} is for {kinds[0]}, {sheet.name} has {kinds[1]}")
    width, height = sheet.label_width, sheet.label_height
    if _goes(layout, width, height):
        return Fit(quarter_turns=0, reason="")
    if _goes(layout, height, width):
        return Fit(quarter_turns=1, reason="")
    return Fit(quarter_turns=None, reason=_reason(layout, sheet))


def require_fit(layout: Layout, sheet: Sheet) -> int:
    """Return the quarter turns with which a layout goes on a sheet's labels.

    Raises:
        LabelError: If it does not go; the sentence says what would.
    """
    fit = fits(layout, sheet)
    if fit.quarter_turns is None:
        raise LabelError(
            given=f"layout {layout.name} on sheet {sheet.name}: {fit.reason}",
            expected=_range_of(layout),
            remedy="choose another sheet or another layout",
        )
    return fit.quarter_turns


def _goes(layout: Layout, width: float, height: float) -> bool:
    return (
        layout.width - _TOLERANCE <= width <= layout.widest + _TOLERANCE
        and layout.height - _TOLERANCE <= height <= layout.highest + _TOLERANCE
    )


def _reason(layout: Layout, sheet: Sheet) -> str:
    size = f"{sheet.label_width:g} x {sheet.label_height:g} mm"
    given, needed = sorted((sheet.label_width, sheet.label_height)), sorted((layout.width, layout.height))
    small = any(one < other - _TOLERANCE for one, other in zip(given, needed, strict=True))
    word = "too small" if small else "too large"
    return f"a label of {size} is {word} for it, either way round"


def _range_of(layout: Layout) -> str:
    def side(least: float, most: float) -> str:
        return f"{least:g} mm or more" if most >= 300 else f"{least:g} to {most:g} mm"  # noqa: PLR2004  a layout's limit

    if layout.is_round:
        return f"discs of {side(layout.width, layout.widest)}"
    one, other = side(layout.width, layout.widest), side(layout.height, layout.highest)
    return f"labels with one side of {one} and the other of {other}"
