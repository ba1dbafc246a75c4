"""The order of all this: outlines, candidates, measures, the finding."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

import cv2
import numpy as np

from tracelabels.scanning.advising.blots import find_blot_beside
from tracelabels.scanning.advising.candidates import (
    Candidate,
    as_candidate,
    clear_sides,
    find_candidate,
    find_candidates,
    is_plausible,
)
from tracelabels.scanning.advising.faint import with_pale_print_dark
from tracelabels.scanning.advising.findings import Cause, Finding
from tracelabels.scanning.advising.judging import CONTRAST_NEEDED, DARK, LEAST_CONTRAST, glared, judge, pale
from tracelabels.scanning.advising.measuring import TOLD_APART, CodeMeasures, measure_code
from tracelabels.scanning.advising.upright import find_upright
from tracelabels.scanning.locating import Outline, find_outlines
from tracelabels.scanning.locating.four_sides import straight_nodes
from tracelabels.scanning.merging import same_place
from tracelabels.scanning.picture import Corners, part_around, sides

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SURROUNDINGS: Final = 0.25
"""Of a place's longer side: what is looked at around it."""
_MOST_IN_PLACE: Final = 7
"""Outlines looked at in a place; a tray may have twenty places."""
_CLEARLY: Final = 3
"""Sides: a place with stock beyond so many is cut where the code ends, and no better sides are looked for."""
_PRINTED: Final = 0.45
"""Share of the modules along its sides that are print: halves of codes have 0.5 and more, pairs of letters a third."""
_UNSURE: Final = (Cause.UNKNOWN, Cause.COVERED)
"""What a part of a code may be taken for whose other part is glared."""
_MOST_EXPLAINED: Final = 20
"""Places that look like a code: so many are measured at any rate, as on a tray, 13 ms each; more only in time."""
_ONE_OF_MANY: Final = "one of many codes that were not read, not looked at further: photograph fewer labels at a time"
_TOO_SMALL: Final = "too far: what looks like a code is less than 8 pixels wide: come much closer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """A code that was not read, and why."""

    corners: Corners
    """In pixels of the picture."""
    finding: Finding
    """Why."""


_Look: TypeAlias = "Callable[[NDArray[np.uint8], Corners, Callable[[], bool]], Explained | None]"


def explain_unread(
    grey: "NDArray[np.uint8]",
    *,
    codes: Sequence[Corners],
    halves: Iterable[Corners],
    known: Iterable[Corners],
    outlines: tuple[Outline, ...] | None = None,
    has_time: Callable[[], bool],
) -> tuple[Explained, ...]:
    """Return what looks like a code and is not known, each with the reason why it was not read.

    If nothing is known, the whole picture is searched unless it is crowded, at last for print that is too pale to look
    like any.

    Args:
        grey: the picture, shape (height, width).
        codes: places that look like a code, known or not; corners clockwise in pixels.
        halves: places that may be half of a code, or text.
        known: what was read, or is told in another way.
        outlines: of the whole picture, if they were found already; the likeliest first.
        has_time: whether another step may start.
    """
    settled = list(known)
    is_bare = not settled
    told = list(_explain_picture(grey, outlines, has_time)) if is_bare and len(codes) < _MOST_EXPLAINED else []
    settled += [one.corners for one in told]
    for look, corners in _looks(codes, halves, has_time):
        there = None if _is_among(corners, settled) else look(grey, corners, has_time)
        if there is not None and (there.corners == corners or not _is_among(there.corners, settled)):
            told.append(there)
            settled.append(there.corners)
    pale_one = _find_pale(grey, has_time) if is_bare and not told else None
    return tuple(told) if pale_one is None else (pale_one,)


def _looks(
    codes: Sequence[Corners], halves: Iterable[Corners], has_time: Callable[[], bool]
) -> "Iterator[tuple[_Look, Corners]]":
    """Yield how each place is looked at: in a crowd without time the last codes are only named."""
    for number, corners in enumerate(codes):
        yield _explain_place if number < _MOST_EXPLAINED or has_time() else _name_place, corners
    for corners in halves:
        if not has_time():
            return
        yield _find_within, corners


def _name_place(_grey: "NDArray[np.uint8]", corners: Corners, _has_time: Callable[[], bool]) -> Explained:
    return Explained(corners=corners, finding=Finding(cause=Cause.UNKNOWN, sentence=_ONE_OF_MANY))


def _is_among(corners: Corners, settled: Iterable[Corners]) -> bool:
    return any(same_place(corners, other) for other in settled)


def _explain_place(grey: "NDArray[np.uint8]", corners: Corners, has_time: Callable[[], bool]) -> Explained | None:
    """Explain a place that looks like a code, by its own corners if there is no time to look for its sides.

    None if it is no more than noise.
    """
    own = _straight(corners)
    upright = find_upright(grey, own)
    measures = None if upright is None else measure_code(upright)
    found = _find_near(grey, corners, None if measures is None else as_candidate(own, measures), has_time)
    if found is not None:
        return found
    if measures is None:
        return Explained(corners=corners, finding=Finding(cause=Cause.TOO_FAR, sentence=_TOO_SMALL))
    is_code = is_plausible(measures) and measures.light - measures.dark > CONTRAST_NEEDED
    return Explained(corners=corners, finding=_find_cause(grey, own, measures)) if is_code else None


def _straight(corners: Corners) -> Outline:
    own = np.array(corners, dtype=np.float64)
    area = float(cv2.contourArea(own.astype(np.float32)))
    return Outline(nodes=straight_nodes(own), area=area, likeness=0.0)


def _find_within(grey: "NDArray[np.uint8]", corners: Corners, has_time: Callable[[], bool]) -> Explained | None:
    """Find the code that a place is, or that is in it and its surroundings."""
    return _find_near(grey, corners, find_candidate(grey, _straight(corners)), has_time)


def _find_near(
    grey: "NDArray[np.uint8]", corners: Corners, own: Candidate | None, has_time: Callable[[], bool]
) -> Explained | None:
    is_sure = own is not None and own.print_share > _PRINTED and clear_sides(own.measures) >= _CLEARLY
    mine = Explained(corners=corners, finding=_cause_of(grey, own)) if own is not None and is_sure else None
    if (mine is not None and mine.finding.cause is not Cause.UNKNOWN) or not has_time():
        return mine
    part, (left, top) = part_around(grey, corners, margin=round(_SURROUNDINGS * max(sides(corners))))
    outlines = (_moved(outline, left, top) for outline in find_outlines(part, has_time=has_time))
    near = (one for one in outlines if same_place(one.corners, corners))
    best = next(iter(find_candidates(grey, near, has_time=has_time, most=_MOST_IN_PLACE)), None)
    return mine if best is None else Explained(corners=best.outline.corners, finding=_cause_of(grey, best))


def _explain_picture(
    grey: "NDArray[np.uint8]", outlines: tuple[Outline, ...] | None, has_time: Callable[[], bool]
) -> tuple[Explained, ...]:
    if find_picture_cause(grey).cause is Cause.TOO_DARK or not has_time():
        return ()
    outlines = find_outlines(grey, has_time=has_time) if outlines is None else outlines
    found = find_candidates(grey, outlines, has_time=has_time)
    return tuple(Explained(corners=one.outline.corners, finding=_cause_of(grey, one)) for one in found)


def _cause_of(grey: "NDArray[np.uint8]", candidate: Candidate) -> Finding:
    return _find_cause(grey, candidate.outline, candidate.measures)


def _find_cause(grey: "NDArray[np.uint8]", outline: Outline, measures: CodeMeasures) -> Finding:
    """Return why a patch was not read; if nothing on it says so for sure, glare may have taken what was beside it."""
    finding = judge(measures)
    if finding.cause not in _UNSURE or measures.light > TOLD_APART:
        return finding
    width = find_blot_beside(grey, outline, max(measures.module) * measures.step)
    return finding if width is None else glared(width)


def _find_pale(grey: "NDArray[np.uint8]", has_time: Callable[[], bool]) -> Explained | None:
    """Find a code in a picture in which nothing looks like one because its print is pale."""
    if find_picture_cause(grey).cause is Cause.TOO_DARK or not has_time():
        return None
    darker = with_pale_print_dark(grey)
    for one in find_candidates(darker, find_outlines(darker, has_time=has_time), has_time=has_time):
        contrast = _contrast(grey, darker, one.outline)
        if LEAST_CONTRAST <= contrast < CONTRAST_NEEDED:
            return Explained(corners=one.outline.corners, finding=pale(contrast))
    return None


def _contrast(grey: "NDArray[np.uint8]", darker: "NDArray[np.uint8]", outline: Outline) -> float:
    """Return how much lighter stock is than print, which the other picture tells apart."""
    seen, told = find_upright(grey, outline), find_upright(darker, outline)
    if seen is None or told is None:
        return CONTRAST_NEEDED
    middle = float(np.median(told.levels))
    return float(seen.levels[told.levels > middle].mean() - seen.levels[told.levels <= middle].mean())


def _moved(outline: Outline, right: int, down: int) -> Outline:
    return replace(outline, nodes=outline.nodes + np.array([right, down]))


def find_picture_cause(grey: "NDArray[np.uint8]") -> Finding:
    """Return why nothing in a picture was read if nothing looks like a code.

    Args:
        grey: the picture, shape (height, width).
    """
    darkest, lightest = np.percentile(grey[::4, ::4], (1, 99)).tolist()
    if lightest < DARK:
        sentence = f"the picture is too dark (grey level {lightest:.0f} of 255): more light"
        return Finding(cause=Cause.TOO_DARK, sentence=sentence)
    if lightest - darkest < CONTRAST_NEEDED:
        sentence = f"the picture is nearly one grey ({lightest - darkest:.0f} levels of 255): nothing to be seen on it"
        return Finding(cause=Cause.NO_CODE, sentence=sentence)
    return Finding(
        cause=Cause.NO_CODE,
        sentence="nothing in the picture looks like a code: come closer and show the label's code",
    )
