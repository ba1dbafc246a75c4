"""The record of a load on paper: one page for the inspector's folder, more where many pouches need them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from tracelabels.custody import ReadingsVerdict
from tracelabels.cycles.judging import CAUTIONS as JUDGES_CAUTIONS
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, wrapped
from tracelabels.reports.curve_chart import lay_out_chart
from tracelabels.reports.curve_picture import PROBE_WORDS
from tracelabels.reports.drawing import as_pdf
from tracelabels.reports.figures import figures_of
from tracelabels.reports.flow import Flow
from tracelabels.reports.load_report import LoadReport, PageSize, PouchShown, ReadingsShown
from tracelabels.reports.load_wording import (
    CAUTIONS,
    count_words,
    decision_lines,
    decision_word,
    doubtful_indicators,
    end_words,
    hold_line,
    indicator_lines,
    is_complete,
    outcome_word,
    pouch_words,
    programme_words,
    read_lines,
    spore_line,
    verdict_word,
)
from tracelabels.reports.marks import Box, Mark, Page, box_of, filled, framed, line, words, words_ending
from tracelabels.reports.rows import (
    CAPTION,
    FINE,
    SMALL,
    STRONG,
    Column,
    Row,
    Style,
    beside,
    bullets,
    captioned,
    heading,
    paragraph,
    space,
    stacked,
    table_head,
    table_row,
)
from tracelabels.sterilization import EvidenceState
from tracelabels.words import in_words, local_minute, some

_LEFT: Final = 20.0
"""Room for the holes of a folder."""
_RIGHT: Final = 14.0
_TOP: Final = 11.0
_FOOT: Final = 17.0
_GAP: Final = 6.0
_CHARTS: Final = (90.0, 82.0, 76.0, 70.0, 65.0)
"""Heights of the curve, tried one after the other."""
_TITLE: Final = Style(size=Points(13.0), face=Face.BOLD)
_BADGE: Final = Points(9.5)
_BETWEEN: Final = 2.0
_MARKED: Final = 0.85
"""Ground of a pouch that did not come through."""


def load_report_pdf(report: LoadReport, size: PageSize = PageSize.A4) -> bytes:
    """Return the record of a load as a PDF."""
    return as_pdf(lay_out_load(report, size), title=f"Record of steriliser load {report.load.number}")


def lay_out_load(report: LoadReport, size: PageSize = PageSize.A4) -> tuple[Page, ...]:
    """Return where everything stands, page by page."""
    return _LoadPages(report, size).pages()


class _LoadPages:
    """The pages of one record."""

    def __init__(self, report: LoadReport, size: PageSize) -> None:
        self._report = report
        self._page = size.value
        self._width = self._page[0] - _LEFT - _RIGHT
        self._half = (self._width - _GAP) / 2
        self._cautions = stacked(paragraph(" ".join(CAUTIONS), self._width, style=FINE))

    def pages(self) -> tuple[Page, ...]:
        """Lay the record out with the highest curve that leaves it on one page, else with a middling one."""
        head, sides = [self._identity(), space(1.5), self._badges(), space(1.5)], self._sides()
        contents = [self._pouch(one) for one in self._report.contents]

        def flow(chart: list[Row]) -> Flow:
            return self._flow([*head, *chart], sides, contents)

        height = next((one for one in _CHARTS if flow([space(one)]).count == 1), _CHARTS[2])
        return flow(self._chart(height)).pages(self._foot)

    def _flow(self, head: list[Row], sides: list[list[Row]], contents: list[Row]) -> Flow:
        width, height = self._page
        flow = Flow(width=width, height=height, room_of=self._room_of, head_of=self._head_of)
        lefts = [0.0, self._half + _GAP]
        flow.put(head)
        flow.put_beside(sides, lefts)
        flow.put(self._log())
        title = "Contents: sterile barrier systems (pouches)"
        head = heading(f"{title}, {count_words(self._report)}", self._width)
        again = heading(f"{title}, continued", self._width)
        flow.put_shared(contents, lefts, head=head, again=again)
        return flow

    def _sides(self) -> list[list[Row]]:
        """Return what stands in two columns; from the third on a section goes under the shorter one."""
        sides = [self._numbers(), [*self._verdict(), *self._decision()]]
        for section in (self._indicators(), self._spore_tests(), self._holds()):
            min(sides, key=lambda rows: stacked(rows).height).extend(section)
        return sides

    # -- every page --------------------------------------------------------------------------------------------------

    def _room_of(self, page: int) -> Box:
        width, height = self._page
        low = _FOOT + (self._cautions.height + 2.0 if page == 0 else 0.0)
        return Box(left=Mm(_LEFT), top=Mm(_TOP), right=Mm(width - _RIGHT), bottom=Mm(height - low))

    def _head_of(self, page: int) -> Row:
        report = self._report
        title = f"Steriliser load {report.load.number}" + (", continued" if page else "")
        rows = [*paragraph(report.practice, self._width, style=CAPTION), *paragraph(title, self._width, style=_TITLE)]
        head = stacked([*rows, space(1.5)])
        under = line(((0.0, head.height - 0.8), (self._width, head.height - 0.8)), 0.4)
        return Row(height=head.height, marks=(*head.marks, under))

    def _foot(self, number: int, many: int) -> Sequence[Mark]:
        report, (width, height) = self._report, self._page
        top, right = height - _FOOT, width - _RIGHT
        marks: list[Mark] = [line(((_LEFT, top), (right, top)), 0.25)]
        printed = f"printed {local_minute(report.printed_at, report.zone)}; times: {report.zone}"
        last = top + 8.6
        marks.append(words_ending(f"page {number} of {many}", right, last, size=SMALL, face=Face.BOLD))
        marks.append(words(f"load {report.load.number}; {printed}", _LEFT, last, size=SMALL))
        for place, text in enumerate(wrapped(self._facts(), Face.REGULAR, SMALL, self._width)[:2]):
            marks.append(words(text, _LEFT, top + 2.9 + 2.85 * place, size=SMALL))
        if number == 1:
            above = top - 1.0 - self._cautions.height
            marks += [mark.moved(right=_LEFT, down=above) for mark in self._cautions.marks]
        return marks

    def _facts(self) -> str:
        """Say where in the ledger everything stands, so that the page can be checked against it."""
        report = self._report
        facts = [f"load {report.fact}", *(f"readings {one.fact}" for one in report.readings)]
        facts += [f"decision {report.decided.fact}"] if report.decided is not None else []
        return f"Facts of the ledger that this page can be checked against: {some(facts)}."

    # -- head of the first page --------------------------------------------------------------------------------------

    def _identity(self) -> Row:
        report, load = self._report, self._report.load
        quarter = self._width / 4
        lefts = [quarter * place for place in range(4)]
        counter = "not entered" if load.cycle_number is None else str(load.cycle_number)
        first = (
            ("steriliser", f"{report.steriliser.name} ({report.steriliser.code})"),
            ("its serial number", report.steriliser.serial_number),
            ("its cycle counter", counter),
            ("operator", load.operator),
        )
        second = (
            ("programme as set", programme_words(load)),
            ("cycle kind; goods", f"{in_words(load.cycle_kind)}; {in_words(load.goods)}"),
            ("started", local_minute(load.started_at, report.zone)),
            ("ended", end_words(report)),
        )
        rows = [beside([captioned(*cell, quarter - 2.0) for cell in row], lefts) for row in (first, second)]
        return stacked([*rows, captioned("judged by", self._judged_by(), self._width)])

    def _judged_by(self) -> str:
        shown = self._report.charted
        programme = None if shown is None or shown.chart is None else shown.chart.findings.programme
        if programme is None:
            return "no programme from the list: see who judged the readings, and why"
        band = programme.band
        above = "no upper limit" if band.above_k is None else f"at most {band.set_c + band.above_k:g} °C"
        return (
            f"{programme.title}: at least {band.set_c:g} °C, {above}, for {programme.hold_minutes:g} min. "
            f"Source of the numbers: {programme.source}."
        )

    def _badges(self) -> Row:
        """Return the four answers that are looked for first; what speaks against is white on black."""
        width = (self._width - 3 * _BETWEEN) / 4
        answers = [(one, _badge(one, width - 3.0)) for one in self._answers()]
        height = max(badge.height for _, badge in answers)
        boxes = [_boxed(badge, width, height, 0.0 if one.is_against else 1.0) for one, badge in answers]
        return beside(boxes, [place * (width + _BETWEEN) for place in range(4)])

    def _answers(self) -> Iterator["_Answer"]:
        report = self._report
        doubtful = doubtful_indicators(report.indicators)
        more = f"{count_words(report)}; {doubtful} indicators not turned" if doubtful else count_words(report)
        yield _Answer("the load", outcome_word(report), more, is_against=bool(doubtful) or not is_complete(report))
        if report.readings:
            probe = PROBE_WORDS[(report.charted or report.readings[0]).recorded.probe]
            is_against = report.verdict is not ReadingsVerdict.MET
            yield _Answer("readings", verdict_word(report), probe, is_against=is_against)
        else:
            yield _Answer("readings", "none on record", "", is_against=True)
        yield self._spore_answer()
        yield self._decision_answer()

    def _spore_answer(self) -> "_Answer":
        spores = self._report.spores
        if spores is None:
            return _Answer("spore tests (BI)", "not looked up", "", is_against=True)
        rode = "one rode along in this load" if self._report.rode_along else "none rode along in this load"
        is_against = spores.state is not EvidenceState.PASSED
        return _Answer("spore tests (BI), as of its time", in_words(spores.state), rode, is_against=is_against)

    def _decision_answer(self) -> "_Answer":
        report, decided = self._report, self._report.decided
        more = []
        if decided is not None:
            more.append(f"by {decided.by}, {local_minute(decided.release.at, report.zone)}")
            if decided.release.excepted:
                more.append(f"{len(decided.release.excepted)} kept out")
        if report.holds:
            more.append(f"{len(report.holds)} on hold")
        is_early = decided is not None and decided.release.is_early
        is_against = is_early or not report.is_released or bool(report.holds)
        return _Answer("decision", decision_word(report), "; ".join(more), is_against=is_against)

    def _chart(self, height: float) -> list[Row]:
        shown = self._report.charted
        if shown is None or shown.chart is None:
            text = "No curve: nothing that one could be drawn from is on record."
            return [*heading("Curve", self._width), *paragraph(text, self._width), space(1.0)]
        return [Row(height=Mm(height), marks=lay_out_chart(shown.chart, box_of(0.0, 0.0, self._width, height)))]

    # -- left column -------------------------------------------------------------------------------------------------

    def _numbers(self) -> list[Row]:
        shown = self._report.charted
        rows = heading("Computed from the readings", self._half)
        if shown is None or shown.chart is None:
            return [*rows, *paragraph("Nothing: there is no curve to compute from.", self._half)]
        found = shown.chart.findings
        columns = (
            Column(title="", width=Mm(self._half - 52.5)),
            Column(title="measured", width=Mm(16.0), is_number=True),
            Column(title=f"with ±{found.probe_error_k:g} K", width=Mm(19.5), is_number=True),
            Column(title="asked for", width=Mm(17.0)),
        )
        rows.append(table_head(columns))
        for one in figures_of(found):
            rows.append(table_row(columns, (one.what, one.written, one.interval, one.asked), style=FINE))
        where = f"{PROBE_WORDS[found.probe].capitalize()}."
        assumed = " The probe's error is assumed; it decides nothing." if found.is_error_assumed else ""
        return [*rows, *paragraph(f"{where}{assumed}", self._half, style=CAPTION)]

    def _indicators(self) -> list[Row]:
        lines = list(indicator_lines(self._report.indicators)) or ["none on record"]
        return [*heading("Chemical indicators (types are no ranking)", self._half), *bullets(lines, self._half)]

    def _spore_tests(self) -> list[Row]:
        report, half = self._report, self._half
        spores = report.spores
        said = "Not looked up" if spores is None else f"{in_words(spores.state).capitalize()}: {spores.sentence}"
        rows = [*heading("Spore tests (biological indicators, BI)", half), *paragraph(f"{said}.", half)]
        return rows + bullets((spore_line(one, report.zone) for one in report.rode_along), half)

    # -- right column ------------------------------------------------------------------------------------------------

    def _verdict(self) -> list[Row]:
        rows = heading(f"Readings: {verdict_word(self._report)}", self._half)
        if not self._report.readings:
            return [*rows, *paragraph("No readings are on record.", self._half)]
        for one in self._report.readings:
            rows += self._reasons(one)
        return rows

    def _reasons(self, shown: ReadingsShown) -> Iterator[Row]:
        recorded, half = shown.recorded, self._half
        title = f"{in_words(recorded.source).capitalize()}: {in_words(recorded.verdict)}"
        yield stacked(paragraph(title, half, style=STRONG))
        yield from bullets(recorded.reasons, half)
        if shown.chart is not None:
            found = shown.chart.findings
            yield from bullets((one for one in found.reasons if one not in recorded.reasons), half)
            cautions = () if found.programme is None else found.programme.cautions
            notes = dict.fromkeys((*found.notes, *cautions))
            # The page has cautions of its own, which say as much.
            yield from bullets((one for one in notes if one not in JUDGES_CAUTIONS), half, style=FINE)

    def _decision(self) -> list[Row]:
        return [*heading("Decision", self._half), *bullets(decision_lines(self._report), self._half)]

    def _holds(self) -> list[Row]:
        lines = [hold_line(one, self._report.zone) for one in self._report.holds] or ["none"]
        return [*heading("Holds", self._half), *bullets(lines, self._half)]

    # -- files -------------------------------------------------------------------------------------------------------

    def _log(self) -> list[Row]:
        """Return how the files were read, and how to find them."""
        rows: list[Row] = []
        for shown in self._report.readings:
            texts = list(read_lines(shown))
            title = f"How the readings of fact {shown.fact} were read"
            rows += heading(title, self._width) if texts else []
            rows += bullets(texts, self._width, style=FINE)
        return rows

    # -- contents ----------------------------------------------------------------------------------------------------

    def _pouch(self, pouch: PouchShown) -> Row:
        decided = self._report.decided
        is_excepted = decided is not None and pouch.serial in {one.text for one in decided.release.excepted}
        columns = (
            Column(title="", width=Mm(19.0)),
            Column(title="", width=Mm(self._half - 45.0)),
            Column(title="", width=Mm(26.0)),
        )
        came = pouch_words(pouch, is_excepted=is_excepted)
        cells = (pouch.serial, "; ".join(pouch.holds) or "nothing on record", came)
        if pouch.is_rejected or pouch.state is None or is_excepted:
            return table_row(columns, cells, style=Style(size=SMALL, face=Face.BOLD), shade=_MARKED)
        return table_row(columns, cells, style=FINE)


@dataclass(frozen=True, slots=True)
class _Answer:
    """One of the answers that are looked for first."""

    caption: str
    """To what question."""
    word: str
    """The answer."""
    more: str
    """A few words more."""
    is_against: bool = field(kw_only=True)
    """Whether it speaks against the load: then it is white on black."""


def _badge(answer: _Answer, room: float) -> Row:
    grey = 1.0 if answer.is_against else 0.0
    fine, strong = Style(size=SMALL, grey=grey), Style(size=_BADGE, face=Face.BOLD, grey=grey)
    rows = [*paragraph(answer.caption, room, style=fine), *paragraph(answer.word.upper(), room, style=strong)]
    return stacked([*rows, *(paragraph(answer.more, room, style=fine) if answer.more else [])])


def _boxed(badge: Row, width: float, height: float, ground: float) -> Row:
    box = box_of(0.0, 0.0, width, height + 1.6)
    inside = tuple(mark.moved(right=1.5, down=0.8) for mark in badge.marks)
    return Row(height=box.height, marks=(filled(box, ground), framed(box, 0.25), *inside))
