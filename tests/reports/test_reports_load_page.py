"""The record of a load on paper: whole, legible, in as few pages as it needs, nothing over anything else."""

from collections import Counter
from dataclasses import replace

import pytest
from reports_loads import DIGEST, NASTY, ODDITIES, aborted, early, grown, many_pouches, report, serial, spore_test

from tracelabels.custody import Kind, Name, PouchState
from tracelabels.paper import page_count
from tracelabels.reports.load_page import lay_out_load, load_report_pdf
from tracelabels.reports.load_report import PageSize
from tracelabels.reports.load_wording import CAUTIONS
from tracelabels.reports.marks import Area, Line, Page

PAGES = {"60 pouches": 2, "200 pouches": 3, "long names": 2, "much odd": 2}
"""All others take one page."""


def _lines(pages: tuple[Page, ...]) -> list[str]:
    return [one.text for page in pages for one in page.words]


def _said(pages: tuple[Page, ...]) -> str:
    """Return the words as read down each column, line breaks undone."""
    return " ".join(_lines(pages))


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("name", NASTY)
def test_nothing_overlaps_nothing_leaves_the_page_and_every_page_is_numbered(name, size, faults):
    pages = lay_out_load(NASTY[name](), size)
    assert [faults(page) for page in pages] == [[]] * len(pages)
    assert len({(page.width, page.height) for page in pages} | {size.value}) == 1
    numbers = [one.text for page in pages for one in page.words if one.text.startswith("page ")]
    assert numbers == [f"page {number} of {len(pages)}" for number in range(1, len(pages) + 1)]
    if size is PageSize.A4:
        assert len(pages) == PAGES.get(name, 1)


@pytest.mark.parametrize("name", NASTY)
def test_every_pouch_stands_once_in_the_contents_with_what_it_holds(name):
    shown = NASTY[name]()
    lines = Counter(line for line in _lines(lay_out_load(shown)))
    assert all(lines[pouch.serial] == 1 for pouch in shown.contents)
    told = "".join(_lines(lay_out_load(shown))).replace(" ", "")
    assert all(thing.replace(" ", "") in told for pouch in shown.contents for thing in pouch.holds)


def test_what_came_out_badly_is_marked_in_words_and_in_grey():
    page, further = lay_out_load(many_pouches())
    marks = Counter(one.text for one in (*page.words, *further.words))
    assert {
        text: count for text, count in marks.items() if text.startswith(("REJECTED", "NOT SCANNED", "sound; NOT"))
    } == {
        "REJECTED: wet": 1,
        "REJECTED: torn": 1,
        "REJECTED: not": 1,
        "REJECTED: other (a": 1,
        "NOT SCANNED OUT;": 1,
        "sound; NOT": 1,
    }
    shaded = [mark for one in (page, further) for mark in one.marks if isinstance(mark, Area) and mark.grey == 0.85]
    assert len(shaded) == 6
    (page,) = lay_out_load(NASTY["no readings"]())
    assert sum(isinstance(mark, Area) and mark.grey == 0.85 for mark in page.marks) == 3


def test_a_curve_moves_with_the_panel_that_it_is_seen_in():
    (page,) = lay_out_load(report())
    curves = [
        mark for mark in page.marks if isinstance(mark, Line) and mark.clip is not None and len(mark.points) > 100
    ]
    assert len(curves) >= 5
    for curve in curves:
        across = [x for x, _ in curve.points]
        assert curve.clip.left - 0.01 <= min(across) < max(across) <= curve.clip.right + 0.01
        assert any(curve.clip.top <= y <= curve.clip.bottom for _, y in curve.points)


def test_the_page_says_all_that_is_known():
    said = _said(lay_out_load(report()))
    for words in (
        "Tidewater Restorative",
        "Steriliser load L01-0004",
        "Steriliser, room 2 (S1)",
        "77-0042",
        "1042",
        "wrapped-134: 134 °C for 3.5 min, drying 20 min",
        "air removal; wrapped",
        "2026-03-02 14:03",
        "2026-03-02 14:44, complete: OK",
        "Source of the numbers: invented for the tests.",
        "8 scanned in, 8 counted, 0 rejected",
        "PROGRAMME MET",
        "F0 (at 121.1 °C, z 10 K)",
        *report().readings[0].recorded.reasons,
        "The probe's error is assumed; it decides nothing.",
        "Taken for granted: pressure reference absolute (CORRECTED: the header says gauge, the cold start at 101 kPa",
        "; separator ';' (guessed: the same number in every line); stated by the file",
        "stated by the file: decimal mark ',', temperature unit C",
        f"Odd in the file: spike, {ODDITIES[0].sentence}.",
        "inside, type 5, lot CI-507: 8 turned",
        "Passed: spore test B01-0003, which rode along, passed.",
        "B01-0003: lot SP-88, expires 2027-01-31; lowest tray, by the drain; with a control; no growth (passed)",
        "read 2026-03-03 16:03",
        "Released on 2026-03-03 17:03 by cd, second person ef",
        "Contents: sterile barrier systems (pouches), 8 scanned in",
        "load 1/198, readings 1/212, decision 1/219",
        "printed 2026-03-04 14:03; times: Europe/Vienna",
        *CAUTIONS,
    ):
        assert words in said
    assert DIGEST in said.replace(" ", "")


def test_the_curve_gives_way_so_that_a_load_stays_on_one_page():
    def pages_and_height(pouches: int) -> tuple[int, float]:
        pages = lay_out_load(report(pouches))
        curve = next(mark for mark in pages[0].marks if isinstance(mark, Line) and mark.clip is not None)
        return len(pages), curve.clip.height

    (one, roomy), (still_one, tight), (two, again) = map(pages_and_height, (4, 30, 60))
    assert (one, still_one, two) == (1, 1, 2)
    assert roomy > again > tight


def test_what_speaks_against_a_load_is_white_on_black():
    def answers(shown):
        (page, *_) = lay_out_load(shown)
        return {one.text for one in page.words if one.grey == 1.0 and one.text.isupper()}

    assert answers(report()) == set()
    assert answers(early()) == {"INCUBATING", "RELEASED EARLY"}
    assert answers(grown()) == {"FAILED", "QUARANTINE"}
    assert answers(aborted()) == {"ABORTED", "PROGRAMME NOT MET", "MISSING", "REJECTED"}
    assert answers(NASTY["no readings"]()) == {"NO END ON RECORD", "NONE ON RECORD", "NOT LOOKED UP", "NOT RELEASED"}
    assert answers(NASTY["12 indicators"]()) == {"COMPLETE"}
    assert answers(replace(report(), holds=grown().holds)) == {"RELEASED"}


def test_the_cautions_are_those_that_were_agreed():
    told = " ".join(CAUTIONS)
    for words in (
        "declares nothing sterile",
        "Local codes, the makers' instructions and licensed practice come first",
        "probe in the chamber says nothing of the inside of a closed tube",
        "chemical indicator shows exposure",
        "types are no ranking",
    ):
        assert words in told


def test_a_decision_before_the_last_is_told_too():
    said = _said(lay_out_load(grown()))
    assert "Quarantine on 2026-03-03 17:03 by cd, no second person; growth; recall under way" in said
    assert "Before that: Released EARLY, while a spore test was incubating, on 2026-03-03 17:03 by cd" in said
    assert "H01-0002, recall, since 2026-03-03 18:03" in said


def test_indicators_that_did_not_turn_are_named_by_their_pouch():
    said = _said(lay_out_load(NASTY["12 indicators"]()))
    assert f"inside, type 2, lot CI-207: 2 not turned ({serial(1)}, {serial(7)})" in said
    assert "in load, type 3, lot CI-307: 1 unclear (the load's)" in said


def test_a_test_that_is_not_read_says_when_it_is_due_and_one_without_a_control_says_so():
    waiting = spore_test(None)
    bare = replace(waiting, test=replace(waiting.test, has_control=False, lot_expiry=None, in_reference_tube=True))
    said = _said(lay_out_load(replace(report(), rode_along=(bare,))))
    assert (
        "no expiry entered; lowest tray, by the drain, inside a reference tube; WITHOUT A CONTROL; not read yet" in said
    )
    assert "due 2026-03-03 14:03" in said


def test_of_very_many_oddities_the_first_are_told_and_the_rest_counted():
    shown = NASTY["much odd"]()
    said = _said(lay_out_load(replace(shown, readings=shown.readings[:1])))
    assert said.count("gap, line ") == 12
    assert f"gap, {shown.readings[0].oddities[0].sentence}; gap" in said
    assert "; and 28 more." in said


def test_a_rejected_pouch_counts_and_a_sound_one_may_be_kept_out():
    shown = many_pouches()
    assert shown.rejected == sum(one.state not in {None, PouchState.SOUND} for one in shown.contents) == 4
    kept = Name(Kind.POUCH, serial(40))
    assert kept in shown.decided.release.excepted


def test_the_paper_has_the_pages_that_were_laid_out():
    assert page_count(load_report_pdf(many_pouches(), PageSize.LETTER)) == len(
        lay_out_load(many_pouches(), PageSize.LETTER)
    )
