"""A steriliser's logbook: every load, test and event in its row, gaps of the counter marked, pages numbered."""

from collections import defaultdict
from dataclasses import replace
from datetime import timedelta

import pytest
from reports_days import DAY_ONE, a_year, aborted_end, busy_week, entry, event
from reports_loads import decision

from tracelabels.custody import Decision, ReadingsVerdict, SteriliserEventKind
from tracelabels.paper import page_count
from tracelabels.reports.load_report import PageSize
from tracelabels.reports.logbook import gaps_of
from tracelabels.reports.logbook_page import lay_out_logbook, logbook_pdf, summary_of
from tracelabels.reports.marks import Area, Page
from tracelabels.sterilization import EvidenceState

EMPTY = replace(busy_week(), entries=())
YEAR = a_year()
BETWEEN, MAYBE = "; on record between them:", ", which may be cycles too"


def _rows(page: Page) -> list[str]:
    """Return the words of each line of a page, left to right."""
    lines = defaultdict(list)
    for one in page.words:
        lines[round(one.baseline, 2)].append((one.left, one.text))
    return [" | ".join(text for _, text in sorted(lines[baseline]) if text) for baseline in sorted(lines)]


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("book", [busy_week(), EMPTY, YEAR], ids=["week", "empty", "year"])
def test_nothing_overlaps_and_every_page_has_the_heads_and_its_number(book, size, faults):
    pages = lay_out_logbook(book, size)
    for number, page in enumerate(pages, 1):
        assert faults(page) == []
        rows = _rows(page)
        heads = "started | what | counter | programme; particulars | pouches | end | readings | indicators"
        assert sum(row.startswith(heads) for row in rows) == 1
        assert rows[-1].endswith(f"page {number} of {len(pages)}")
        assert any("declares nothing sterile" in row for row in rows)
    assert (pages[0].height, pages[0].width) == size.value


def test_a_year_has_every_load_and_every_test_once():
    told = [one.text for page in lay_out_logbook(YEAR) for one in page.words]
    assert sorted(text for text in told if text.startswith("load L01")) == sorted(
        f"load L01-{number:04d}" for number in range(730)
    )
    assert told.count("air removal test") == 365


def test_each_kind_of_row_says_what_happened():
    (page,) = lay_out_logbook(busy_week())
    rows = _rows(page)
    for row in (
        "2026-03-02 07:30 | cleaned | ab",
        "2026-03-02 08:30 | air removal test | air removal; even | passed | ab",
        f"Cycle counter 1038, then 1040: 1 cycle without a load on record{BETWEEN} air removal test{MAYBE}",
        "2026-03-03 07:30 | leak test | 0.4 kPa a minute | FAILED | ab",
        "2026-03-04 07:30 | repaired | door seal; next due 2027-03-04 | ab",
        "Cycle counter 1047, then 12: it was set back, or a number is wrong",
    ):
        assert row in rows
    joined = "\n".join(rows)
    for part in (
        "2026-03-02 09:30 | load L01-0001 | 1040 | wrapped-134: 134 °C for 3.5 min, drying 20 min; air removal",
        "| 8 | 10:11, complete | met | 8 turned | passed | released by cd | ab",
        "8, 2 rejected",
        "aborted: E",
        "released EARLY by",
        "no growth",
        "GROWTH",
        "incubating | due 2026-03-03",
        "NO END",
        "1 of 8 NOT",
        "rejected by cd",
        "released, 1 kept out",
    ):
        assert part in joined


def test_the_summary_counts_what_the_rows_say():
    book = busy_week()
    gaps = gaps_of(book)
    assert summary_of(book.in_order, gaps) == (
        "7 loads: 1 aborted, 5 complete, 1 without an end; "
        "decisions: 2 none yet, 1 rejected, 3 released, 1 released early; "
        "4 spore tests (BI): 1 growth, 1 incubating, 1 invalid, 1 no growth; "
        "steriliser: 1 air removal test passed, 1 cleaned, 1 leak test failed, 1 repaired, 1 taken out; "
        "gaps of the cycle counter: 3."
    )
    assert summary_of((), ()) == "0 loads; 0 spore tests (BI); gaps of the cycle counter: none."


def test_what_has_to_be_seen_is_shaded():
    (page,) = lay_out_logbook(busy_week())
    shaded = [mark for mark in page.marks if isinstance(mark, Area)]
    tops = {round(min(y for _, y in mark.points), 2) for mark in shaded}
    bottoms = {round(max(y for _, y in mark.points), 2) for mark in shaded}
    bands = list(zip(sorted(tops), sorted(bottoms), strict=True))
    seen = [
        one.text
        for one in sorted(page.words, key=lambda one: one.baseline)
        if any(top < one.baseline < bottom for top, bottom in bands)
        and one.text.startswith(("load L", "spore test B", "Cycle", "leak", "taken", "repaired", "cleaned"))
    ]
    assert [text.split(",")[0] for text in seen] == [
        "Cycle counter 1038", "leak test", "taken out", "Cycle counter 1041", "load L01-0003", "load L01-0004",
        "spore test B01-0002", "load L01-0005", "load L01-0006", "spore test B01-0003", "Cycle counter 1047",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "is_shaded"),
    [
        ({}, False),
        ({"spores": None}, False),
        ({"rejected": 1}, False),
        ({"end": None}, True),
        ({"end": aborted_end(DAY_ONE)}, True),
        ({"verdict": None}, True),
        ({"verdict": ReadingsVerdict.CANNOT_TELL}, True),
        ({"doubtful": 1}, True),
        ({"spores": EvidenceState.MISSING}, True),
        ({"decision": None}, True),
        ({"decision": decision(is_early=True).release}, True),
        ({"decision": decision(Decision.QUARANTINE).release}, True),
    ],
)
def test_a_load_is_shaded_for_each_thing_that_speaks_against_it(facts, is_shaded):
    book = replace(EMPTY, entries=(entry(1, DAY_ONE, **facts),))
    (page,) = lay_out_logbook(book)
    assert any(isinstance(mark, Area) for mark in page.marks) == is_shaded


@pytest.mark.parametrize(
    ("counters", "before", "sentences"),
    [
        ((1, 2, 3), None, []),
        ((1, 2, 3), 0, []),
        ((2,), 0, ["cycle counter 0, then 2: 1 cycle without a load on record"]),
        ((None, None), 7, []),
        ((8, None, 10), 7, []),
        ((8, None, 11), 7, ["cycle counter 8, then 11: 1 cycle without a load on record"]),
        ((8, None, None, 10), 7, ["cycle counter 8, then 10: 2 loads between them, more than it counted"]),
        ((8, 8), 7, ["cycle counter 8, then 8: it was set back, or a number is wrong"]),
        ((8, 3, 4, 6), 7, [
            "cycle counter 8, then 3: it was set back, or a number is wrong",
            "cycle counter 4, then 6: 1 cycle without a load on record",
        ]),
    ],
)  # fmt: skip
def test_gaps_of_the_counter(counters, before, sentences):
    loads = [entry(n, DAY_ONE + timedelta(hours=n), counter=counter) for n, counter in enumerate(counters)]
    book = replace(EMPTY, entries=tuple(loads), counter_before=before)
    assert [gap.sentence for gap in gaps_of(book)] == sentences


def test_tests_that_may_be_cycles_are_named_beside_a_gap_and_forgotten_after_it():
    at = [DAY_ONE + timedelta(hours=n) for n in range(6)]
    days = (
        entry(1, at[0], counter=1),
        event(SteriliserEventKind.LEAK_TEST, at[1], passed=True),
        event(SteriliserEventKind.CLEANED, at[1]),
        entry(2, at[2], counter=3),
        entry(3, at[3], counter=5),
    )
    book = replace(EMPTY, entries=days, counter_before=None)
    assert [(gap.before, gap.sentence) for gap in gaps_of(book)] == [
        (
            "L01-0002",
            f"cycle counter 1, then 3: 1 cycle without a load on record{BETWEEN} leak test{MAYBE}",
        ),
        ("L01-0003", "cycle counter 3, then 5: 1 cycle without a load on record"),
    ]


def test_rows_stand_in_the_order_of_time_whatever_order_they_came_in():
    book = busy_week()
    mixed = replace(book, entries=tuple(reversed(book.entries)))
    assert mixed.in_order == book.in_order == book.entries


def test_the_paper_has_the_pages_that_were_laid_out():
    book = replace(YEAR, entries=YEAR.entries[:90])
    assert page_count(logbook_pdf(book)) == len(lay_out_logbook(book)) > 1
