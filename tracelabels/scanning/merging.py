"""Several attempts see the same symbol: one place holds one reading, or none.

Two readings are of one place if the middle of one lies within the other. The same text is one reading, the one that was
found first. Two different texts: a plain reading stands against a deep one in the mode "any code"; else neither is
believed.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tracelabels.identifiers import as_human_readable
from tracelabels.scanning.guards import Candidate
from tracelabels.scanning.picture import Corners, scaled
from tracelabels.scanning.reading import Reading, ScanMode

_SAME_ROW = 0.75
"""Share of a place's height within which two middles are in one row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A candidate that passed the guards, and where."""

    candidate: Candidate
    """What was read."""

    corners: Corners
    """In pixels of the picture that was read."""

    how: str
    """The attempt's name."""


def as_reading(found: Found, *, reduction: int = 1) -> Reading:
    """Return what was found as a scan answers it.

    Args:
        found: where, in pixels of the picture that was read.
        reduction: pixels of the upright file per pixel of that picture.
    """
    raw, says = found.candidate.raw, found.candidate.identification
    return Reading(
        text=raw.text,
        symbology_identifier=raw.symbology_identifier,
        symbology_name=raw.symbology_name,
        corners=scaled(found.corners, reduction),
        how=found.how,
        human_readable=None if says is None else as_human_readable(says.elements),
        identification=says,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """One answer a place."""

    agreed: tuple[Found, ...]
    """Places with one text."""

    disputed: tuple[Corners, ...]
    """Places with different texts, which count as unread."""


def merge(found: Iterable[Found], mode: ScanMode) -> Merged:
    """Return one answer for each place.

    Args:
        found: what the attempts read, in the order of the attempts.
        mode: whose codes are wanted.
    """
    agreed: list[Found] = []
    disputed: list[Found] = []
    for new in found:
        rivals = [old for old in (*agreed, *disputed) if same_place(old.corners, new.corners)]
        if not rivals or _may_lie_together(new, rivals, mode):
            agreed.append(new)
        elif not _told_by_one(new, rivals, mode):
            agreed = [old for old in agreed if old not in rivals]
            disputed.append(new)
    return Merged(agreed=tuple(agreed), disputed=tuple(place.corners for place in disputed))


def _may_lie_together(new: Found, rivals: list[Found], mode: ScanMode) -> bool:
    """Plain readings of any code are kept as they are, even one inside another (a code in a code's middle)."""
    return mode is ScanMode.ANY and not any(one.candidate.deep for one in (new, *rivals))


def _told_by_one(new: Found, rivals: list[Found], mode: ScanMode) -> bool:
    """Say whether the place's answer stands as it was."""
    if mode is ScanMode.ANY and new.candidate.deep and any(not rival.candidate.deep for rival in rivals):
        return True
    return all(rival.candidate.raw.data == new.candidate.raw.data for rival in rivals)


def same_place(one: Corners, other: Corners) -> bool:
    """Say whether the middle of one quadrilateral lies within the other."""
    return holds(one, middle_of(other)) or holds(other, middle_of(one))


def middle_of(corners: Corners) -> tuple[float, float]:
    """Return the mean of the corners."""
    return sum(x for x, _ in corners) / 4.0, sum(y for _, y in corners) / 4.0


def holds(corners: Corners, point: tuple[float, float]) -> bool:
    """Say whether a convex quadrilateral holds a point: it lies on the same side of all four sides, or on one."""
    px, py = point
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    turns = [(bx - ax) * (py - ay) - (by - ay) * (px - ax) for (ax, ay), (bx, by) in sides]
    return min(turns) >= 0.0 or max(turns) <= 0.0


def in_reading_order(boxes: "Iterable[Corners]") -> list[int]:
    """Return the order of places from top to bottom, and from left to right within a row.

    A place belongs to a row if its middle is less than three quarters of a height below the middle of the row's first:
    labels laid in a row by hand lean, and the next row is at least a whole height away.
    """
    places = [(index, *middle_of(corners), _height(corners)) for index, corners in enumerate(boxes)]
    places.sort(key=lambda place: place[2])
    rows: list[list[tuple[int, float, float, float]]] = []
    for place in places:
        if rows and place[2] - rows[-1][0][2] < max(place[3], rows[-1][0][3]) * _SAME_ROW:
            rows[-1].append(place)
        else:
            rows.append([place])
    return [place[0] for row in rows for place in sorted(row, key=lambda place: place[1])]


def _height(corners: Corners) -> float:
    ys = [y for _, y in corners]
    return float(max(ys) - min(ys))
