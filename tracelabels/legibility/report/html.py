"""A report as one self-contained page: no script, no font, nothing fetched."""

import base64
import html
import io
from typing import TYPE_CHECKING, Final

from tracelabels.legibility.findings import Finding, severest_first
from tracelabels.legibility.report.margin_rows import FURTHEST, MarginRow, Room, margin_rows
from tracelabels.legibility.report.section import Report, ReportPicture, ReportSection
from tracelabels.words import in_words

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_STYLE: Final = """
body{font:16px/1.45 system-ui,sans-serif;color:#1c1f22;margin:2rem auto;max-width:60rem;padding:0 1rem}
h1{font-size:1.5rem;margin:0}h2{font-size:1.15rem;margin:2.2rem 0 .3rem;border-top:2px solid #1c1f22;padding-top:.8rem}
.basis{color:#555;margin:.2rem 0 1rem}.pass{color:#1f6b45}.warn{color:#8a5a00}.fail{color:#a62a22}
.verdict{font-weight:650;text-transform:uppercase;letter-spacing:.04em}
table{border-collapse:collapse;width:100%;font-size:.88rem;margin:.8rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid #dfe2e4}
th{font-weight:600}figure{display:inline-block;margin:.6rem 1.2rem .6rem 0;vertical-align:top;max-width:100%}
figure img{max-width:100%;image-rendering:pixelated;border:1px solid #c9cdd0}figcaption{font-size:.82rem;color:#555}
svg text{font:12px system-ui,sans-serif;fill:#1c1f22}
"""
_COLOURS: Final = {Room.INSIDE: "#a62a22", Room.NARROW: "#c98a1b", Room.ENOUGH: "#2f7d56", Room.OPEN: "#7d9c8c"}
_LARGEST: Final = 420


def as_html(report: Report) -> str:
    """Return the page."""
    sections = "".join(map(_section, report.sections))
    notes = "".join(f"<p>{html.escape(note)}</p>" for note in report.notes)
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{html.escape(report.title)}</title>'
        f"<style>{_STYLE}</style><h1>{html.escape(report.title)}</h1>"
        f'<p class="basis">{html.escape(report.basis)}</p>{sections}{notes}</html>\n'
    )


def _section(section: ReportSection) -> str:
    verdict = section.verdict.value
    return (
        f'<h2>{html.escape(section.title)} <span class="verdict {verdict}">{verdict}</span></h2>'
        f"<p>{html.escape(section.sentence)}</p>"
        f"{''.join(map(_figure, section.pictures))}{_grades(section)}{_plot(section)}{_findings(section.findings)}"
    )


def _figure(picture: ReportPicture) -> str:
    data = base64.b64encode(_png(picture.pixels)).decode()
    width = min(_LARGEST, max(160, picture.pixels.shape[1]))
    caption = html.escape(picture.caption)
    return (
        f'<figure><img alt="{caption}" width="{width}" src="data:image/png;base64,{data}">'
        f"<figcaption>{caption}</figcaption></figure>"
    )


def _png(pixels: "NDArray[np.uint8]") -> bytes:
    from PIL import Image  # noqa: PLC0415  heavy: only who makes a report pays for it

    with io.BytesIO() as file:
        Image.fromarray(pixels).save(file, "PNG", optimize=True)
        return file.getvalue()


def _grades(section: ReportSection) -> str:
    if not section.grades:
        return ""
    rows = "".join(f"<tr>{''.join(f'<td>{html.escape(cell)}</td>' for cell in row)}</tr>" for row in section.grades)
    return f"<table><tr><th>parameter</th><th>measured</th><th>grade</th></tr>{rows}</table>"


def _plot(section: ReportSection) -> str:
    rows = margin_rows(section.margins)
    if not rows:
        return ""
    height = 26 * len(rows) + 40
    bars = "".join(_bar(row, number) for number, row in enumerate(rows))
    limit = 230 + 300 / FURTHEST
    return (
        f'<svg viewBox="0 0 860 {height}" width="100%" role="img" aria-label="how far each factor may go">'
        f'<line x1="{limit:.1f}" x2="{limit:.1f}" y1="14" y2="{height - 22}" stroke="#1c1f22" stroke-dasharray="3 3"/>'
        f"{bars}"
        f'<text x="{limit:.1f}" y="{height - 6}" text-anchor="middle">the envelope\'s limit</text></svg>'
    )


def _bar(row: MarginRow, number: int) -> str:
    y, width = 18 + 26 * number, max(300 * row.reach / FURTHEST, 1.5)
    return (
        f'<text x="222" y="{y + 12}" text-anchor="end">{html.escape(row.title)}</text>'
        f'<rect x="230" y="{y}" width="{width:.1f}" height="15" fill="{_COLOURS[row.room]}"/>'
        f'<text x="540" y="{y + 12}">{html.escape(row.words)}</text>'
    )


def _findings(findings: tuple[Finding, ...]) -> str:
    if not findings:
        return ""
    rows = "".join(map(_finding, severest_first(findings)))
    heads = "".join(f"<th>{head}</th>" for head in ("", "rule", "measured", "required", "what would mend it", "source"))
    return f"<table><tr>{heads}</tr>{rows}</table>"


def _finding(finding: Finding) -> str:
    verdict = finding.verdict.value
    cells = (in_words(finding.rule), finding.measured, finding.required, finding.fix, finding.source)
    text = "".join(f"<td>{html.escape(cell)}</td>" for cell in cells)
    return f'<tr><td class="verdict {verdict}">{verdict}</td>{text}</tr>'
