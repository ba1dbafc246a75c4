"""A steriliser's logbook on paper: a row for each load, test and event, over as many pages as it takes."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from tracelabels.custody import Decision, Outcome, ReadingsVerdict, SteriliserEventKind
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face
from tracelabels.reports.drawing import as_pdf
from tracelabels.reports.flow import Flow
from tracelabels.reports.load_report import PageSize
from tracelabels.reports.load_wording import programme_words
from tracelabels.reports.logbook import Entry, EventEntry, LoadEntry, Logbook, SporeEntry, gaps_of
from tracelabels.reports.marks import Box, Mark, Page, line, words, words_ending
from tracelabels.reports.rows import (
    CAPTION,
    FINE,
    SMALL,
    Column,
    Row,
    Style,
    paragraph,
    space,
    stacked,
    table_head,
    table_row,
)
from tracelabels.sterilization import CounterGap, EvidenceState, SporeResult
from tracelabels.words import in_words, local_minute

_LEFT: Final = 15.0
_RIGHT: Final = 12.0
_TOP: Final = 14.0
"""Room for the holes of a folder, on the long side."""
_FOOT: Final = 13.0
_TITLE: Final = Style(size=Points(13.0), face=Face.BOLD)
_STRONG: Final = Style(size=SMALL, face=Face.BOLD)
_MARKED: Final = 0.87
_HAIR: Final = 0.06
_WIDTHS: Final = (
    ("started", 25.0),
    ("what", 26.0),
    ("counter", 12.0),
    ("programme; particulars", 0.0),
    ("pouches", 18.0),
    ("end", 23.0),
    ("readings", 16.0),
    ("indicators", 20.0),
    ("spore tests (BI)", 20.0),
    ("decision", 25.0),
    ("by", 10.0),
)
"""Columns; the one of no width takes what is left."""
_CAUTION: Final = (
    "This list shows what was recorded; it declares nothing sterile. "
    "Local codes, the makers' instructions and licensed practice come first."
)
_RESULTS: Final = {SporeResult.NO_GROWTH: "no growth", SporeResult.GROWTH: "GROWTH", SporeResult.INVALID: "invalid"}
_BAD_EVENTS: Final = frozenset({SteriliserEventKind.TAKEN_OUT})


def logbook_pdf(logbook: Logbook, size: PageSize = PageSize.A4) -> bytes:
    """Return a logbook as a PDF, its pages lying down."""
    return as_pdf(lay_out_logbook(logbook, size), title=f"Logbook of steriliser {logbook.steriliser.code}")


def lay_out_logbook(logbook: Logbook, size: PageSize = PageSize.A4) -> tuple[Page, ...]:
    """Return where everything stands, page by page."""
    return _LogbookPages(logbook, size).pages()


class _LogbookPages:
    """The pages of one logbook."""

    def __init__(self, logbook: Logbook, size: PageSize) -> None:
        self._logbook = logbook
        self._height, self._wide = size.value
        self._width = self._wide - _LEFT - _RIGHT
        rest = self._width - sum(width for _, width in _WIDTHS)
        self._columns = tuple(Column(title=title, width=Mm(width or rest)) for title, width in _WIDTHS)
        self._entries = logbook.in_order
        self._gaps = gaps_of(logbook)

    def pages(self) -> tuple[Page, ...]:
        flow = Flow(width=self._wide, height=self._height, room_of=self._room_of, head_of=self._head_of)
        flow.put(list(self._rows()) or paragraph("Nothing is on record for these days.", self._width))
        return flow.pages(self._foot)

    def _room_of(self, _page: int) -> Box:
        right, bottom = self._wide - _RIGHT, self._height - _FOOT
        return Box(left=Mm(_LEFT), top=Mm(_TOP), right=Mm(right), bottom=Mm(bottom))

    def _head_of(self, page: int) -> Row:
        """Return title and heads of columns; on the first page what the days come to as well."""
        book = self._logbook
        days = f"{book.first_day} to {book.last_day}"
        name = f"Logbook of steriliser {book.steriliser.code}, {days}" + (", continued" if page else "")
        rows = [
            *paragraph(book.practice, self._width, style=CAPTION),
            *paragraph(name, self._width, style=_TITLE),
            *paragraph(
                f"{book.steriliser.name}, serial number {book.steriliser.serial_number}", self._width, style=FINE
            ),
        ]
        if page == 0:
            rows += [space(0.8), *paragraph(summary_of(self._entries, self._gaps), self._width)]
        return stacked([*rows, space(1.2), table_head(self._columns)])

    def _foot(self, number: int, many: int) -> Sequence[Mark]:
        book, top, right = self._logbook, self._height - _FOOT + 1.0, self._wide - _RIGHT
        printed = f"printed {local_minute(book.printed_at, book.zone)}; times: {book.zone}"
        return (
            line(((_LEFT, top), (right, top)), 0.25),
            words(_CAUTION, _LEFT, top + 2.9, size=SMALL),
            words(f"steriliser {book.steriliser.code}; {printed}", _LEFT, top + 5.9, size=SMALL),
            words_ending(f"page {number} of {many}", right, top + 5.9, size=SMALL, face=Face.BOLD),
        )

    def _rows(self) -> Iterator[Row]:
        gaps = {gap.before: gap for gap in self._gaps}
        for one in self._entries:
            if isinstance(one, LoadEntry) and one.load.number in gaps:
                yield self._gap(gaps[one.load.number])
            row = table_row(
                self._columns,
                self._cells(one),
                style=_STRONG if _is_against(one) else FINE,
                shade=_MARKED if _is_against(one) else 1.0,
            )
            yield self._ruled(row)

    def _gap(self, gap: CounterGap) -> Row:
        """Return a gap of the counter, across all columns."""
        whole = (Column(title="", width=Mm(self._width)),)
        return self._ruled(
            table_row(whole, (gap.sentence.upper()[0] + gap.sentence[1:],), style=_STRONG, shade=_MARKED)
        )

    def _ruled(self, row: Row) -> Row:
        at = row.height - _HAIR  # within the row, where the ground of the next one does not cover it
        under = line(((0.0, at), (self._width, at)), _HAIR, grey=0.4)
        return Row(height=row.height, marks=(*row.marks, under))

    def _cells(self, one: Entry) -> tuple[str, ...]:
        started = local_minute(one.at, self._logbook.zone)
        match one:
            case LoadEntry():
                return (started, *self._load(one))
            case SporeEntry():
                return (started, *self._spores(one))
            case EventEntry():
                return (started, *_event(one))

    def _load(self, one: LoadEntry) -> tuple[str, ...]:
        load, end = one.load, one.end
        counter = "" if load.cycle_number is None else str(load.cycle_number)
        if end is None:
            ended = "NO END"
        else:
            note = f": {end.note}" if end.note and end.outcome is Outcome.ABORTED else ""
            ended = f"{end.at.astimezone(self._logbook.zone):%H:%M}, {in_words(end.outcome)}{note}"
        rejected = f", {one.rejected} rejected" if one.rejected else ""
        turned = f"{one.indicators} turned" if not one.doubtful else f"{one.doubtful} of {one.indicators} NOT TURNED"
        return (
            f"load {load.number}",
            counter,
            f"{programme_words(load)}; {in_words(load.cycle_kind)}, {in_words(load.goods)}",
            f"{len(load.pouches)}{rejected}",
            ended,
            "none on record" if one.verdict is None else in_words(one.verdict),
            turned if one.indicators else "none on record",
            "" if one.spores is None else in_words(one.spores),
            _decided(one),
            load.operator,
        )

    def _spores(self, one: SporeEntry) -> tuple[str, ...]:
        test, reading = one.test, one.reading
        expiry = "no expiry entered" if test.lot_expiry is None else f"expires {test.lot_expiry}"
        control = "control" if test.has_control else "NO CONTROL"
        particulars = f"in load {test.load.text}; lot {test.lot}, {expiry}; {test.placement}; {control}"
        if reading is None:
            result, when = "incubating", f"due {local_minute(test.due_at, self._logbook.zone)}"
        else:
            result, when = _RESULTS[reading.result], f"read {local_minute(reading.at, self._logbook.zone)}"
        kind = f"{particulars}; {in_words(test.cycle_kind)}"
        return f"spore test {test.number}", "", kind, "", "", "", "", result, when, one.by


def _event(one: EventEntry) -> tuple[str, ...]:
    event = one.event
    kind = None if event.cycle_kind is None else in_words(event.cycle_kind)
    due = None if event.next_due is None else f"next due {event.next_due}"
    result = {None: "", True: "passed", False: "FAILED"}[event.passed]
    particulars = "; ".join(part for part in (kind, event.note, due) if part)
    return in_words(event.event), "", particulars, "", result, "", "", "", "", one.by


def _decided(one: LoadEntry) -> str:
    release = one.decision
    if release is None:
        return "not released"
    early = " EARLY" if release.is_early and release.decision is Decision.RELEASED else ""
    kept = f", {len(release.excepted)} kept out" if release.excepted else ""
    return f"{in_words(release.decision)}{early}{kept}" + (f" by {one.decided_by}" if one.decided_by else "")


def _is_against(one: Entry) -> bool:
    """Say whether a row is one that has to be seen."""
    match one:
        case LoadEntry():
            return not _is_good(one)
        case SporeEntry():
            return one.reading is not None and one.reading.result is not SporeResult.NO_GROWTH
        case EventEntry():
            return one.event.passed is False or one.event.event in _BAD_EVENTS


def _is_good(one: LoadEntry) -> bool:
    ran = one.end is not None and one.end.outcome is Outcome.COMPLETE and one.verdict is ReadingsVerdict.MET
    is_released = one.decision is not None and one.decision.decision is Decision.RELEASED and not one.decision.is_early
    return ran and is_released and not one.doubtful and one.spores in {None, EvidenceState.PASSED}


def summary_of(entries: Sequence[Entry], gaps: Sequence[CounterGap]) -> str:
    """Say in a few lines what the days come to."""
    loads = [one for one in entries if isinstance(one, LoadEntry)]
    ends = Counter("without an end" if one.end is None else in_words(one.end.outcome) for one in loads)
    decisions = Counter(_decision_word(one) for one in loads)
    spores = Counter(
        "incubating" if one.reading is None else in_words(one.reading.result)
        for one in entries
        if isinstance(one, SporeEntry)
    )
    events = Counter(_event_word(one) for one in entries if isinstance(one, EventEntry))
    parts = [
        f"{len(loads)} loads" + _told(ends),
        f"decisions{_told(decisions)}" if loads else "",
        f"{spores.total()} spore tests (BI)" + _told(spores),
        f"steriliser{_told(events)}" if events else "",
        f"gaps of the cycle counter: {len(gaps) or 'none'}",
    ]
    return "; ".join(part for part in parts if part) + "."


def _told(counted: Counter[str]) -> str:
    return f": {', '.join(f'{count} {name}' for name, count in sorted(counted.items()))}" if counted else ""


def _decision_word(one: LoadEntry) -> str:
    if one.decision is None:
        return "none yet"
    is_early = one.decision.is_early and one.decision.decision is Decision.RELEASED
    return "released early" if is_early else in_words(one.decision.decision)


def _event_word(one: EventEntry) -> str:
    passed = {None: "", True: " passed", False: " failed"}[one.event.passed]
    return f"{in_words(one.event.event)}{passed}"
