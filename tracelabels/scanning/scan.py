"""The scan of one picture: the order of steps."""

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Final, TypeAlias

from tracelabels.scanning.advising import explain_unread, find_picture_cause
from tracelabels.scanning.attempts import DEEPER, PATCH, PLAIN, Attempt, View, whole
from tracelabels.scanning.beside import shows_more
from tracelabels.scanning.blocks import cut_at_gaps
from tracelabels.scanning.guards import as_candidate, find_refusal, is_foreign
from tracelabels.scanning.locating import LOCATED_SHAPES, WIDER_SHAPES, Outline, find_outlines
from tracelabels.scanning.looks import Measures, looks_like_bars, looks_like_code, looks_like_half, measure
from tracelabels.scanning.merging import (
    Found,
    Merged,
    as_reading,
    holds,
    in_reading_order,
    merge,
    middle_of,
    same_place,
)
from tracelabels.scanning.picture import Corners, Picture, moved, part_around, scaled
from tracelabels.scanning.places import Place, find_places
from tracelabels.scanning.reading import Reading, Scan, ScanMode, UnreadPlace
from tracelabels.scanning.sampled import SAMPLED, read_by_modules
from tracelabels.symbols import PRINTED, RawReading, Symbology, read_symbols

_Kinds: TypeAlias = frozenset[Symbology] | None

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    _Part: TypeAlias = tuple[NDArray[np.uint8], int, int]
    """Of the picture, with the pixels to its left and above it."""

DEFAULT_BUDGET_MS = 1000.0
_BARS: Final = frozenset({Symbology.CODE_128})
_SURROUNDINGS = 0.3
"""Of a place's longer side: what is taken along when its modules are sampled."""
_FOR_ADVICE: Final = 0.1
"""Of the budget: kept for saying why nothing was read,"""
_FOR_EACH_CODE: Final = 0.013
"""and so much more for each of more than"""
_FEW: Final = 3
"""places that look like a code, up to"""
_CROWD: Final = 23
"""so many."""
_LARGE: Final = 500_000
"""Pixels: a larger picture is sampled first where it looks like a code,"""
_OUTLINES_OF_PART: Final = 4
"""within so many outlines of each such place: one of them is the code's, or none."""
_LARGEST_VIEW = 16_000_000
"""Pixels: a whole picture is not enlarged beyond this."""


def scan_picture(
    picture: Picture,
    *,
    mode: ScanMode = ScanMode.OWN,
    today: date,
    budget_ms: float = DEFAULT_BUDGET_MS,
    clock: Callable[[], float] = time.perf_counter,
) -> Scan:
    """Read every code in a picture.

    The plain read comes first and is never cut short; if it finds nothing, channels with markedly more contrast than
    the luma are read; what is left is looked at place by place, then, if nothing was read at all, in other views of the
    whole picture (of a large one once what looks like a code was sampled); last, what looks like a symbol is sampled
    module by module (where any code is wanted, only if nothing was read).

    Args:
        picture: what to read.
        mode: own labels with all guards, or any code.
        today: the date that two-digit years are read against.
        budget_ms: milliseconds in all; a tenth of it or more is kept for saying why nothing was read.
        clock: seconds from any start; an argument so that a test can set it.
    """
    started = clock()
    work = _Work(picture=picture, mode=mode, today=today, clock=clock, started=started, budget_s=budget_ms / 1000.0)
    work.read_as_it_is()
    _read_other_greys(work)
    places = _read_places(work) if _may_hold_more(work) else _Places()
    if not work.found:
        _read_deeper(work, places.codes)
    if mode is ScanMode.OWN or not work.found:
        _read_by_modules(work, _parts_to_sample(work, places.codes))
    merged = merge(work.found, mode)
    unread = _unread(work, places, merged)
    return Scan(
        readings=_readings(work, merged.agreed),
        unread=unread,
        advice=_advice(work, merged, unread),
        tried=tuple(dict.fromkeys(work.tried)),
        elapsed_ms=(clock() - started) * 1000.0,
    )


@dataclass(slots=True, kw_only=True)
class _Work:
    """What was found so far, and how much time is left."""

    picture: Picture
    mode: ScanMode
    today: date
    clock: Callable[[], float]
    started: float
    budget_s: float
    found: list[Found] = field(default_factory=list)
    foreign: list[Corners] = field(default_factory=list)
    tried: list[str] = field(default_factory=list)
    outlines: tuple[Outline, ...] | None = None
    plain_s: float = 0.0
    reserve: float = _FOR_ADVICE

    def has_time(self, step_s: float = 0.0) -> bool:
        """Say whether a step that takes so many seconds may begin."""
        return self.clock() + step_s < self.started + (1.0 - self.reserve) * self.budget_s

    def outlines_of(self, part: "NDArray[np.uint8]") -> tuple[Outline, ...] | None:
        """Return the outlines in a part of the picture, those of the whole once for all; None without time to look."""
        outlines = find_outlines(part, has_time=self.has_time) if self.has_time() else None
        if part is self.picture.grey:
            self.outlines = outlines
        return outlines

    def has_time_to_explain(self) -> bool:
        return self.clock() < self.started + self.budget_s

    def read_as_it_is(self) -> None:
        self.read(whole(self.picture.grey), PLAIN, deep=False)
        self.plain_s = self.clock() - self.started

    def read(self, view: View, attempt: Attempt, *, deep: bool, kinds: _Kinds = None) -> list[Found]:
        """Look at a view in one way; keep and return what passes the guards.

        Args:
            view: what to look at.
            attempt: how.
            deep: whether this is more than the plain read.
            kinds: of our own symbologies, those that can be there; None for all.
        """
        seen = attempt.see(view)
        self.tried.append(attempt.name)
        kinds = (kinds or PRINTED) if self.mode is ScanMode.OWN else None
        new = []
        for raw in read_symbols(seen.grey, kinds=kinds):
            candidate = as_candidate(raw, deep=deep, today=self.today)
            refusal = find_refusal(candidate, self.mode)
            if refusal is None:
                new.append(Found(candidate=candidate, corners=seen.in_picture(raw.corners), how=attempt.name))
            elif is_foreign(candidate, refusal):
                self.foreign.append(seen.in_picture(raw.corners))
        confirmed = new if not deep else [one for one in new if self._is_sure(one, view, attempt)]
        self.found.extend(confirmed)
        return confirmed

    def believes(self, raw: RawReading) -> bool:
        """Say whether the guards let a deep reading pass."""
        return find_refusal(as_candidate(raw, deep=True, today=self.today), self.mode) is None

    def keep_sampled(self, raw: RawReading, right: int, down: int) -> None:
        """Keep what a symbol's modules say, in a part of the picture that begins there."""
        a, b, c, d = raw.corners
        candidate = as_candidate(raw, deep=True, today=self.today)
        self.found.append(Found(candidate=candidate, corners=moved((a, b, c, d), right, down), how=SAMPLED))

    def _is_sure(self, one: Found, view: View, attempt: Attempt) -> bool:
        """Bars have one check character for all errors: a second, different view must say the same."""
        if one.candidate.raw.symbology is not Symbology.CODE_128:
            return True
        others = (other for other in PATCH if other.name != attempt.name)
        return any(
            raw.data == one.candidate.raw.data
            for other in others
            for raw in read_symbols(other.see(view).grey, kinds=_BARS)
        )

    def is_read_at(self, point: tuple[float, float]) -> bool:
        return any(holds(corners, point) for corners in self.settled)

    def holds_reading(self, corners: Corners) -> bool:
        return any(holds(corners, middle_of(one.corners)) for one in self.found)

    def is_read(self, corners: Corners) -> bool:
        return any(same_place(corners, other) for other in self.settled)

    @property
    def settled(self) -> list[Corners]:
        """Return the places in which nothing more is looked for."""
        return [*(one.corners for one in self.found), *self.foreign]


def _read_other_greys(work: _Work) -> None:
    """Read the channels that show markedly more than the luma, if the plain read found nothing."""
    if work.found or work.picture.other_greys is None or not work.has_time():
        return
    for other in work.picture.other_greys():
        attempt = Attempt(name=other.name, see=lambda view: view)
        if work.read(whole(other.grey), attempt, deep=True) or not work.has_time():
            return


@dataclass(frozen=True, slots=True, kw_only=True)
class _Places:
    """The patches that the plain read left."""

    codes: list[Place] = field(default_factory=list)
    """What looks like a matrix code."""
    halves: list[Place] = field(default_factory=list)
    """What may be half of one."""
    bars: list[Place] = field(default_factory=list)
    """What looks like bars, the largest first."""
    others: list[Place] = field(default_factory=list)
    """Patches that look like neither as a whole."""


def _may_hold_more(work: _Work) -> bool:
    """Say whether there may be more than what was read."""
    return not work.found or bool(work.foreign) or shows_more(work.picture.grey, work.settled)


def _read_places(work: _Work) -> _Places:
    """Try the patches that the plain read left; return them, read or not.

    Patches that look like a code or like bars come first. The others are text most likely: what holds no reading is
    looked at once, and if nothing was read or codes are left unread, in every view: a code may hide among close text.
    """
    places = _sorted_places(work)
    likely: list[tuple[Place, _Kinds]] = [(place, None) for place in places.codes]
    _read_in_views(work, [*likely, *((place, _BARS) for place in places.bars)], PATCH)
    unexplained = [(place, None) for place in places.others if not work.holds_reading(place.corners)]
    _read_in_views(work, unexplained, PATCH[:1])
    if not work.found or any(not work.is_read(place.corners) for place in places.codes):
        _read_in_views(work, unexplained, PATCH[1:])
    work.reserve += _FOR_EACH_CODE * max(0, min(len(places.codes), _CROWD) - _FEW)
    return places


def _sorted_places(work: _Work) -> _Places:
    """Return the patches by what they look like; what looks like neither is cut up first."""
    places = _Places()
    for place in find_places(work.picture.grey, skip=work.is_read_at):
        parts = _parts(work, place)
        for part, measures in parts:
            if looks_like_code(part, measures):
                places.codes.append(part)
            elif looks_like_bars(measures):
                places.bars.append(part)
            elif looks_like_half(part, measures):
                places.halves.append(part)
        if not any(part is place for part, _ in parts):
            places.others.append(place)
    # At full size a code of wide bars falls into pieces, which say nothing.
    places.bars.sort(key=lambda place: -place.size[0] * place.size[1])
    return places


def _parts(work: _Work, place: Place) -> list[tuple[Place, Measures]]:
    """Return a patch, if it looks like a code or like bars, else the unread parts that it falls into at its gaps."""
    grey = work.picture.grey
    upright = place.upright(grey, margin=0.0).grey
    measures = measure(upright)
    if looks_like_code(place, measures) or looks_like_bars(measures):
        return [(place, measures)]
    parts = (part for part in cut_at_gaps(place, upright) if not work.is_read(part.corners))
    return [(part, measure(part.upright(grey, margin=0.0).grey)) for part in parts]


def _read_in_views(work: _Work, places: Sequence[tuple[Place, _Kinds]], attempts: tuple[Attempt, ...]) -> None:
    """Try places in each view until they are read, all of them in the cheapest view first.

    Args:
        work: what was found so far.
        places: patches, each with the kinds that it may be; None for all that are wanted.
        attempts: the views.
    """
    for attempt in attempts:
        for place, kinds in places:
            if not work.has_time():
                return
            if not work.is_read(place.corners):
                view = place.upright(work.picture.grey, margin=place.margin)
                work.read(view, attempt, deep=True, kinds=kinds)


def _read_deeper(work: _Work, codes: Iterable[Place]) -> None:
    """Try other views of the whole picture until one is read; in a large one, where they take long, sample codes first.

    Looking for outlines everywhere takes as long there as a view does, and a view as long as the plain read.
    """
    view = whole(work.picture.grey)
    if view.grey.size > _LARGE:
        _read_by_modules(work, _surroundings(work, codes), outlines_each=_OUTLINES_OF_PART)
        if work.found:
            return
    for attempt in DEEPER:
        grown = attempt.growth**2
        if not work.has_time(work.plain_s * grown) or view.grey.size * grown > _LARGEST_VIEW:
            continue
        if work.read(view, attempt, deep=True):
            return


def _read_by_modules(work: _Work, parts: "Iterable[_Part]", *, outlines_each: int | None = None) -> None:
    """Sample what looks like a symbol and is unread in parts of the picture, in so many outlines of each or in all."""
    shapes = LOCATED_SHAPES if work.mode is ScanMode.OWN else WIDER_SHAPES
    for part, right, down in parts:
        known = len(work.settled)

        def is_wanted(corners: Corners, right: int = right, down: int = down, known: int = known) -> bool:
            return len(work.settled) == known and not work.is_read(moved(corners, right, down))

        outlines = (work.outlines_of(part) or ())[:outlines_each]
        for raw in read_by_modules(
            part, shapes, outlines=outlines, accepts=work.believes, is_wanted=is_wanted, has_time=work.has_time
        ):
            work.keep_sampled(raw, right, down)


def _parts_to_sample(work: _Work, codes: Iterable[Place]) -> "Iterator[_Part]":
    """Yield the whole picture if nothing is read, then, once something is, what surrounds each code that is not."""
    if not work.settled:
        yield work.picture.grey, 0, 0
    if work.settled:
        yield from _surroundings(work, codes)


def _surroundings(work: _Work, codes: Iterable[Place]) -> "Iterator[_Part]":
    for place in codes:
        if not work.is_read(place.corners):
            margin = round(_SURROUNDINGS * max(place.size))
            part, (left, top) = part_around(work.picture.grey, place.corners, margin=margin)
            yield part, left, top


def _readings(work: _Work, agreed: tuple[Found, ...]) -> tuple[Reading, ...]:
    order = in_reading_order(one.corners for one in agreed)
    return tuple(as_reading(agreed[index], reduction=work.picture.reduction) for index in order)


def _unread(work: _Work, places: _Places, merged: Merged) -> tuple[UnreadPlace, ...]:
    """Name the places that look like a code and were not read, or said two things."""
    reduction = work.picture.reduction
    told = [
        (corners, "two attempts read two different texts here: take another photograph") for corners in merged.disputed
    ]
    told += [
        (corners, "a code that is not printed here, a maker's or a shop's: show the label's own code")
        for corners in work.foreign
    ]
    known = [*merged.disputed, *work.foreign, *(one.corners for one in merged.agreed)]
    explained = explain_unread(
        work.picture.grey,
        codes=[place.corners for place in places.codes],
        halves=[place.corners for place in places.halves],
        known=known,
        outlines=work.outlines,
        has_time=work.has_time_to_explain,
    )
    told += [(one.corners, one.finding.sentence) for one in explained]
    unread = [UnreadPlace(corners=scaled(corners, reduction), reason=reason) for corners, reason in told]
    return tuple(unread[index] for index in in_reading_order(place.corners for place in unread))


def _advice(work: _Work, merged: Merged, unread: tuple[UnreadPlace, ...]) -> tuple[str, ...]:
    if unread or merged.agreed:
        return tuple(dict.fromkeys(place.reason for place in unread))
    return (find_picture_cause(work.picture.grey).sentence,)
