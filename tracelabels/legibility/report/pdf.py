"""A report on paper: the same sections as the page, set in the embedded face."""

from typing import TYPE_CHECKING, Final

from tracelabels.legibility.findings import Finding, severest_first
from tracelabels.legibility.report.margin_rows import FURTHEST, Room, margin_rows
from tracelabels.legibility.report.section import Report, ReportPicture, ReportSection
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, Paper, shown, text_width, wrapped
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.paper import Fragment

_WIDTH, _HEIGHT = Mm(210.0), Mm(297.0)
_LEFT: Final = Mm(18.0)
_RIGHT: Final = Mm(192.0)
_FOOT: Final = Mm(280.0)
_BODY: Final = Points(9.0)
_SMALL: Final = Points(7.5)
_LEADING: Final = 4.2
_PICTURE: Final = 52.0
_GREYS: Final = {Room.INSIDE: 0.0, Room.NARROW: 0.35, Room.ENOUGH: 0.6, Room.OPEN: 0.75}
_GRADES: Final = (Mm(18.0), Mm(70.0), Mm(110.0))
_COLUMNS: Final = (Mm(18.0), Mm(30.0), Mm(62.0), Mm(104.0), Mm(146.0))


class _Page:
    """Sets lines from the top of a page to its foot, then goes on with the next."""

    def __init__(self, report: Report) -> None:
        self.paper = Paper(width=_WIDTH, height=_HEIGHT, dpi=300, title=report.title)
        self._basis = report.basis
        self._number = 0
        self.y = 0.0
        self.next()

    def next(self) -> None:
        self.paper.begin_page()
        self._number += 1
        foot = self.paper.fragment()
        foot.text(shown(f"{self._basis}; page {self._number}"), left=_LEFT, baseline=Mm(288.0), size=_SMALL)
        self.paper.stamp(foot, left=Mm(0.0), top=Mm(0.0))
        self.y = 20.0

    def need(self, height: float) -> None:
        if self.y + height > _FOOT:
            self.next()

    def draw(self) -> "Fragment":
        return self.paper.fragment()

    def stamp(self, fragment: "Fragment") -> None:
        self.paper.stamp(fragment, left=Mm(0.0), top=Mm(0.0))

    def line(self, text: str, *, size: Points = _BODY, face: Face = Face.REGULAR, left: Mm = _LEFT) -> None:
        for part in wrapped(text, face, size, _RIGHT - left):
            self.need(_LEADING)
            fragment = self.draw()
            fragment.text(part, left=left, baseline=Mm(self.y), size=size, face=face)
            self.stamp(fragment)
            self.y += _LEADING if size < Points(12.0) else _LEADING * 1.6


def as_pdf(report: Report) -> bytes:
    """Return the report as a PDF."""
    page = _Page(report)
    page.line(report.title, size=Points(15.0), face=Face.BOLD)
    page.line(report.basis)
    for section in report.sections:
        _section(page, section)
    page.y += 3.0
    for note in report.notes:
        page.line(note, size=_SMALL)
    return page.paper.finish()


def _section(page: _Page, section: ReportSection) -> None:
    page.need(40.0)
    page.y += 4.0
    rule = page.draw()
    rule.line(from_=(_LEFT, Mm(page.y - 4.0)), to=(_RIGHT, Mm(page.y - 4.0)), thickness=Mm(0.4))
    page.stamp(rule)
    page.y += 2.0
    page.line(f"{section.title}: {section.verdict.value.upper()}", size=Points(12.0), face=Face.BOLD)
    if section.sentence:
        page.line(section.sentence)
    _pictures(page, section.pictures)
    if section.grades:
        _cells(page, ("parameter", "measured", "grade"), _GRADES, face=Face.BOLD)
    for row in section.grades:
        _cells(page, row, _GRADES)
    _plot(page, section)
    _findings(page, section.findings)


def _pictures(page: _Page, pictures: tuple[ReportPicture, ...]) -> None:
    if not pictures:
        return
    page.need(_PICTURE + 10.0)
    left = float(_LEFT)
    for picture in pictures:
        rows, columns = picture.pixels.shape[:2]
        scale = _PICTURE / max(rows, columns)
        if left + _PICTURE > _RIGHT:
            break
        page.paper.picture(
            picture.pixels,
            left=Mm(left),
            top=Mm(page.y),
            width=Mm(columns * scale),
            height=Mm(rows * scale),
        )
        words = page.draw()
        for number, part in enumerate(wrapped(picture.caption, Face.REGULAR, _SMALL, _PICTURE)[:2]):
            words.text(part, left=Mm(left), baseline=Mm(page.y + _PICTURE + 3.5 + 3.2 * number), size=_SMALL)
        page.stamp(words)
        left += _PICTURE + 8.0
    page.y += _PICTURE + 12.0


def _plot(page: _Page, section: ReportSection) -> None:
    rows = margin_rows(section.margins)
    if not rows:
        return
    page.need(5.0 * len(rows) + 10.0)
    drawing, top, start, width = page.draw(), page.y, 62.0, 52.0
    for number, row in enumerate(rows):
        y = top + 5.0 * number
        title = shown(row.title)
        size = text_width(title, Face.REGULAR, _SMALL)
        drawing.text(title, left=Mm(start - 2.0 - size), baseline=Mm(y + 2.8), size=_SMALL)
        reach = max(width * row.reach / FURTHEST, 0.4)
        drawing.solid(left=Mm(start), top=Mm(y), width=Mm(reach), height=Mm(3.4), grey=_GREYS[row.room])
        drawing.text(shown(row.words), left=Mm(start + width + 3.0), baseline=Mm(y + 2.8), size=_SMALL)
    limit = Mm(start + width / FURTHEST)
    bottom = Mm(top + 5.0 * len(rows))
    drawing.line(from_=(limit, Mm(top - 1.0)), to=(limit, bottom), thickness=Mm(0.25))
    drawing.text("the envelope's limit", left=Mm(limit - 10.0), baseline=Mm(bottom + 3.0), size=_SMALL)
    page.stamp(drawing)
    page.y = bottom + 9.0


def _findings(page: _Page, findings: tuple[Finding, ...]) -> None:
    if not findings:
        return
    _cells(page, ("", "rule", "measured", "required", "what would mend it; source"), _COLUMNS, face=Face.BOLD)
    for one in severest_first(findings):
        mend = f"{one.fix}; {one.source}" if one.fix else one.source
        cells = (one.verdict.value, in_words(one.rule), one.measured, one.required, mend)
        _cells(page, cells, _COLUMNS)


def _cells(page: _Page, cells: tuple[str, ...], lefts: tuple[Mm, ...], *, face: Face = Face.REGULAR) -> None:
    """Set one row of a table; each cell wraps in its column."""
    rights = (*lefts[1:], _RIGHT)
    columns = [
        wrapped(cell, face, _SMALL, right - left - 2.0) for cell, left, right in zip(cells, lefts, rights, strict=True)
    ]
    height = 3.2 * max(map(len, columns)) + 1.4
    page.need(height)
    drawing = page.draw()
    for lines, left in zip(columns, lefts, strict=True):
        for number, text in enumerate(lines):
            drawing.text(text, left=left, baseline=Mm(page.y + 3.2 * number), size=_SMALL, face=face)
    page.stamp(drawing)
    page.y += height
