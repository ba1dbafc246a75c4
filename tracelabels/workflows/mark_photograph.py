"""Leave a picture of what was read and said: frames on the photograph, words below it."""

from pathlib import Path
from typing import Final

from tracelabels.custody import Verdict
from tracelabels.errors import InputError
from tracelabels.scanning.marking import Mark, mark
from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place

_COLOURS: Final[dict[Verdict | None, tuple[int, int, int]]] = {
    Verdict.STOP: (214, 64, 56),
    Verdict.PRELIMINARY: (214, 150, 30),
    Verdict.GO: (40, 150, 90),
    None: (70, 130, 200),
}
_UNREAD: Final = (150, 150, 150)
_MOST_REASONS: Final = 4


def write_marked(source: Path | bytes, page: PhotoAnswer, out: Path, *, caption: str = "") -> None:
    """Write a PNG of the photograph with what was read marked on it.

    Args:
        source: the photograph, or its bytes.
        page: what was said about it.
        out: the PNG file; replaced if it is there.
        caption: words above the list.
    """
    if page.picture is None:
        raise InputError(
            given=f"page {page.page}, whose picture was let go",
            expected="a page with its picture",
            remedy="mark the page when it is read",
        )
    marks = [_as_mark(answer) for answer in page.answers]
    marks += [
        Mark(corners=place.corners, colour=_UNREAD, head="a label is here, unread", words=(place.reason,))
        for place in page.scan.unread
    ]
    words = (caption, *(page.scan.advice if not page.answers else ())) if caption else page.scan.advice
    require_place(out, FileKind.PNG, not_over=[source] if isinstance(source, Path) else [])
    leave_file(out, mark(source, page.picture, marks, captions=words or (f"{len(page.answers)} read",)))


def _as_mark(answer: Answer) -> Mark:
    head = answer.reading.human_readable or answer.reading.text
    verdict = answer.verdict
    reasons = [f"• {reason.sentence}" for reason in answer.reasons[:_MOST_REASONS]]
    more = len(answer.reasons) - _MOST_REASONS
    if more > 0:
        reasons.append(f"• and {more} more")
    return Mark(
        corners=answer.reading.corners,
        colour=_COLOURS[verdict],
        head=f"{verdict.value.upper() if verdict else 'READ'}   {head}",
        words=tuple(reasons),
    )
