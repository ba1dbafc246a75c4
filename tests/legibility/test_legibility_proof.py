"""The proof catches what it should: each wall is shown to hold by breaking what it guards."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tracelabels.errors import ProofError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, Payload, format_serial
from tracelabels.labels import LabelContent, Printer, fits, require_layout, require_sheet, typeset
from tracelabels.legibility.proof import fault, prove
from tracelabels.paper import rasterise_page


def _contents(count: int, *, gtin: str | None = None):
    mode = IdentifierMode.GS1 if gtin else IdentifierMode.IN_HOUSE
    for number in range(1, count + 1):
        identity = LabelIdentity(
            gtin=gtin,
            use_by=date(2027, 11, 30),
            prepared=date(2026, 11, 25),
            lot="5501",
            serial=format_serial(1, number),
        )
        yield LabelContent(identity=identity, mode=mode, product="Rosehip", item_number="R-12")


@pytest.fixture(scope="module")
def sheet():
    """70 labels: a whole sheet and a part of the next."""
    return typeset(
        _contents(70),
        layout=require_layout("tube-1.5-side"),
        sheet=require_sheet("a4-5x13-38.1x21.2"),
        printer=Printer(dpi=300),
        title="proof",
    )


@pytest.fixture(scope="module")
def page(sheet):
    return rasterise_page(sheet.pdf, index=0, dpi=300)


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("gtin", [None, "09501101530003"])
@pytest.mark.parametrize(
    ("layout", "name", "turns"),
    [
        ("tube-1.5-side", "a4-5x13-38.1x21.2", 1),
        ("tube-2.0-side", "a4-5x13-38.1x21.2", 1),
        ("pouch-90", "a4-3x7-63.5x38.1", 0),
    ],
)
def test_a_good_sheet_is_proved_upright_and_turned(dpi, gtin, layout, name, turns):
    chosen, on = require_layout(layout), require_sheet(name)
    assert fits(chosen, on).quarter_turns == turns
    done = typeset(_contents(3, gtin=gtin), layout=chosen, sheet=on, printer=Printer(dpi=dpi), title="proof")
    assert prove(done.pdf, done.placed, dpi=dpi) == ()


def test_a_code_that_says_something_else_is_named_with_its_place(sheet):
    wrong = list(sheet.placed)
    other = replace(
        wrong[68].symbol, payload=Payload(text="21010000012", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    )
    wrong[68] = replace(wrong[68], symbol=other)
    (failure,) = prove(sheet.pdf, wrong, dpi=300)
    assert (failure.page, failure.row, failure.column, failure.expected) == (2, 1, 4, "21010000012")
    assert failure.found == f"it reads {sheet.placed[68].payload.text!r}"


def test_a_claim_of_gs1_that_the_code_does_not_make_is_caught(sheet, page):
    label = sheet.placed[0]
    assert fault(page, label) == ""
    claimed = replace(label, symbol=replace(label.symbol, symbology_identifier="]d2"))
    assert fault(page, claimed) == "it reads as ]d1, not ]d2"


def test_one_wrong_module_is_caught_although_it_would_still_read(sheet, page):
    label = sheet.placed[3]
    spoiled = page.copy()
    module = np.s_[
        label.top + 5 * label.x : label.top + 6 * label.x, label.left + 5 * label.x : label.left + 6 * label.x
    ]
    spoiled[module] = 255 - spoiled[module]
    assert fault(spoiled, label) == "1 modules are not whole dots of the right colour, the first in row 6, column 6"


def test_one_grey_dot_is_caught(sheet, page):
    label = sheet.placed[3]
    spoiled = page.copy()
    spoiled[label.top, label.left] = 128
    assert fault(spoiled, label) == "1 modules are not whole dots of the right colour, the first in row 1, column 1"


@pytest.mark.parametrize(("down", "across"), [(-1, 5), (5, -1)])
def test_one_dark_dot_in_the_quiet_zone_is_caught(sheet, page, down, across):
    label = sheet.placed[3]
    spoiled = page.copy()
    spoiled[label.top + down, label.left + across] = 0
    assert fault(spoiled, label) == "1 dots in the quiet zone are not white"


def test_a_symbol_at_the_edge_of_the_page_is_caught(sheet, page):
    assert fault(page, replace(sheet.placed[0], left=0)) == "the symbol or its quiet zone leaves the page"


def test_a_page_that_is_missing_is_caught(sheet):
    first = tuple(label for label in sheet.placed if label.page == 0)
    ghost = replace(sheet.placed[-1], page=7)
    (failure,) = prove(sheet.pdf, (*first, *sheet.placed[65:], ghost), dpi=300)
    assert (failure.expected, failure.found) == ("71 labels", "pages for 70 only")


def test_another_resolution_than_the_printers_is_caught(sheet):
    assert len(prove(sheet.pdf, sheet.placed, dpi=280)) == 70


def test_no_file_is_left_if_the_proof_fails(monkeypatch, tmp_path):
    from tracelabels.workflows import print_labels

    def set_wrong(contents, job):
        done = typeset(contents, layout=job.layout, sheet=job.sheet, printer=job.printer, title=job.title)
        return replace(done, placed=(replace(done.placed[0], left=done.placed[0].left + 1), *done.placed[1:]))

    monkeypatch.setattr(print_labels, "set_labels", set_wrong)
    job = print_labels.LabelJob(
        layout=require_layout("tube-1.5-side"), sheet=require_sheet("a4-5x13-38.1x21.2"), printer=Printer(dpi=300)
    )
    with pytest.raises(ProofError) as caught:
        print_labels.write_labels(_contents(3), job, tmp_path / "out.pdf")
    assert str(caught.value).startswith("1 of 3 labels that do not read back; first on page 1, row 1, column 1: ")
    assert list(tmp_path.iterdir()) == []


def test_no_file_is_left_if_the_record_fails(tmp_path):
    from tracelabels.workflows import print_labels

    job = print_labels.LabelJob(
        layout=require_layout("tube-1.5-side"), sheet=require_sheet("a4-5x13-38.1x21.2"), printer=Printer(dpi=300)
    )

    def refuse(_proved):
        message = "the ledger is full"
        raise OSError(message)

    with pytest.raises(OSError, match="the ledger is full"):
        print_labels.write_labels(_contents(3), job, tmp_path / "out.pdf", before_it_appears=refuse)
    assert list(tmp_path.iterdir()) == []
