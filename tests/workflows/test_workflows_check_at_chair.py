"""A clip is one look at one thing: what its frames say is told once, and nothing that matters is dropped."""

import pytest

from tracelabels.custody import Reason, ReasonKind, Verdict
from tracelabels.errors import PictureError
from tracelabels.scanning import Reading, Scan, UnreadPlace
from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer, told_once

SQUARE = ((0, 0), (9, 0), (9, 9), (0, 9))
PAST = "it is past its use-by"
OTHER_TUBE = "tube 010000020 is not one of this pouch"


def said(text, *reasons):  # noqa: ANN002  sentences
    """An answer for a text; with reasons it is STOP."""
    reading = Reading(
        text=text,
        symbology_identifier="]d1",
        symbology_name="Data Matrix",
        corners=SQUARE,
        how="plain",
        human_readable=None,
        identification=None,
    )
    return Answer(
        reading=reading,
        known=None,
        verdict=Verdict.STOP if reasons else Verdict.PRELIMINARY,
        reasons=tuple(Reason(kind=ReasonKind.LABEL_UNKNOWN, sentence=one) for one in reasons),
    )


def frame(number, *answers, unread=(), is_frame=True):  # noqa: ANN002  what it says
    scan = Scan(
        readings=tuple(one.reading for one in answers),
        unread=tuple(UnreadPlace(corners=SQUARE, reason=one) for one in unread),
        advice=tuple(unread),
        tried=("plain",),
        elapsed_ms=10.0,
    )
    return PhotoAnswer(page=number, picture=None, scan=scan, answers=answers, is_frame=is_frame)


def told(pages):
    """What is left of each page: its number, what it says, what stayed unread, and its time."""
    return [
        (
            page.page,
            [(one.reading.text, *(reason.sentence for reason in one.reasons)) for one in page.answers],
            [place.reason for place in page.scan.unread],
            page.scan.elapsed_ms,
        )
        for page in pages
    ]


@pytest.mark.parametrize(
    ("pages", "expected"),
    [
        ([], []),
        ([frame(1, said("A")), frame(16, said("A"))], [(1, [("A",)], [], 20.0)]),
        ([frame(1, unread=["blurred"]), frame(16, said("A"))], [(16, [("A",)], [], 20.0)]),
        ([frame(1, said("A"), unread=["blurred"]), frame(16)], [(1, [("A",)], [], 20.0)]),
        ([frame(1, unread=["blurred"]), frame(16, unread=["glare"])], [(1, [], ["blurred"], 20.0)]),
        (
            [frame(1, said("A")), frame(16), frame(31, said("A"), said("B")), frame(46)],
            [(1, [("A",)], [], 20.0), (31, [("B",)], [], 20.0)],
        ),
        # Two labels that say the same in one frame are two labels.
        ([frame(1, said("A"), said("A"))], [(1, [("A",), ("A",)], [], 10.0)]),
        # The same label in other company is told again, with its reason.
        (
            [frame(1, said("A", PAST)), frame(16, said("A", OTHER_TUBE), said("B", OTHER_TUBE))],
            [(1, [("A", PAST)], [], 10.0), (16, [("A", OTHER_TUBE), ("B", OTHER_TUBE)], [], 10.0)],
        ),
    ],
)
def test_frames_that_say_nothing_new_are_dropped(pages, expected):
    assert told(told_once(iter(pages))) == expected


def test_pages_of_a_document_all_stand():
    pages = [frame(number, said("A"), unread=["blurred"], is_frame=False) for number in (1, 2)]
    assert list(told_once(iter(pages))) == pages


def test_what_was_seen_before_a_clip_became_too_long_is_told():
    def film():
        yield frame(1, said("A"))
        raise PictureError(given="film is too long", expected="less", remedy="cut it")

    pages = told_once(film())
    assert next(pages).page == 1
    with pytest.raises(PictureError, match="film is too long"):
        next(pages)
