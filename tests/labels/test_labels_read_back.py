"""What we print we scan: full sheets of distinct labels, rasterised at the printer's resolution, all read back."""

import dataclasses

import pytest

from tracelabels.errors import NoRoomError
from tracelabels.identifiers import IdentifierMode, LabelIdentity
from tracelabels.labels import Printer, list_layouts, list_sheets, require_layout, require_sheet, typeset
from tracelabels.labels import fits as fit_of
from tracelabels.symbols import Symbology

FITTING = [(layout, sheet) for layout in list_layouts() for sheet in list_sheets() if fit_of(layout, sheet)]
FITTING_IDS = [f"{layout.name}-on-{sheet.name}" for layout, sheet in FITTING]


def full_sheet(layout, sheet, dpi, content_for):
    """Set a full sheet; of a roll, four rows."""
    count = sheet.slots * (4 if sheet.is_roll else 1)
    contents = (content_for(layout, number) for number in range(count))
    run = typeset(contents, layout=layout, sheet=sheet, printer=Printer(dpi=dpi))
    assert len({label.payload.text for label in run.placed}) == count
    return run


@pytest.mark.slow
@pytest.mark.parametrize("dpi", [300, 600])
@pytest.mark.parametrize(("layout", "sheet"), FITTING, ids=FITTING_IDS)
def test_every_symbol_of_a_full_sheet_is_exact_and_reads_back(layout, sheet, dpi, content_for, read_back_faults):
    assert read_back_faults(full_sheet(layout, sheet, dpi, content_for)) == []


@pytest.mark.slow
@pytest.mark.parametrize(("layout", "sheet"), FITTING, ids=FITTING_IDS)
def test_at_203_dpi_symbols_are_exact_and_small_modules_are_warned_of(layout, sheet, content_for, read_back_faults):
    run = full_sheet(layout, sheet, 203, content_for)
    assert read_back_faults(run) == []
    small = any(label.x * 25.4 / 203 < 0.254 for label in run.placed)
    assert any("table 6" in warning for warning in run.warnings) == small


def test_at_203_dpi_a_layout_whose_modules_may_not_be_that_small_is_refused_with_the_reason(content_for):
    layout = require_layout("tube-0.5-side")
    strict = dataclasses.replace(layout, symbol=dataclasses.replace(layout.symbol, smallest_x=0.254))
    with pytest.raises(NoRoomError) as caught:
        full_sheet(strict, require_sheet("roll-28x13"), 203, content_for)
    assert "at 203 dpi with X 0.375 mm (3 dots)" in str(caught.value)


QUICK = [
    ("tube-1.5-side", "a4-5x13-38.1x21.2"),
    ("cap-9.5", "a4-round-15x21-9.5"),
    ("pouch-57", "roll-50x25"),
    ("tube-empty", "roll-28x13"),
]


@pytest.mark.parametrize(("name", "sheet_name"), QUICK)
@pytest.mark.parametrize("dpi", [203, 300])
def test_a_few_sheets_at_once(name, sheet_name, dpi, content_for, read_back_faults):
    assert read_back_faults(full_sheet(require_layout(name), require_sheet(sheet_name), dpi, content_for)) == []


def test_the_comparison_notices_a_symbol_that_is_off_by_a_dot(content_for, read_back_faults):
    layout, sheet = require_layout("tube-1.5-side"), require_sheet("roll-2x38x21")
    run = full_sheet(layout, sheet, 300, content_for)
    object.__setattr__(run.placed[0], "left", run.placed[0].left + 1)
    assert len(read_back_faults(run)) == 1


def test_the_comparison_notices_a_symbol_that_says_something_else(content_for, read_back_faults):
    layout, sheet = require_layout("tube-1.5-side"), require_sheet("roll-2x38x21")
    run = full_sheet(layout, sheet, 300, content_for)
    other = dataclasses.replace(run.placed[0].symbol, payload=run.placed[1].payload)
    placed = (dataclasses.replace(run.placed[0], symbol=other), *run.placed[1:])
    faults = read_back_faults(dataclasses.replace(run, placed=placed))
    assert len(faults) == 1
    assert faults[0].startswith("label 0: read [(b'1727113013261125105501\\x1d21010000004', ']d1')], not [(b'")


GS1_FITTING = [(layout, next(sheet for sheet in list_sheets() if fit_of(layout, sheet))) for layout in list_layouts()]


@pytest.mark.parametrize(("layout", "sheet"), GS1_FITTING, ids=[layout.name for layout, _ in GS1_FITTING])
def test_conformant_identifiers_print_and_read_back_or_are_refused(layout, sheet, full, read_back_faults):
    # The GTIN is the General Specifications' own example number (check digit 8 for 952012345678).
    identity = dataclasses.replace(full.identity, gtin="09520123456788")
    content = dataclasses.replace(full, identity=identity, mode=IdentifierMode.GS1)
    if layout.name in TOO_SMALL_FOR_A_GTIN:
        with pytest.raises(
            NoRoomError, match=r"expected at least .* at 300 dpi with X 0\.254 mm \(3 dots\), as Data Matrix"
        ):
            typeset([content], layout=layout, sheet=sheet, printer=Printer(dpi=300))
        return
    run = typeset([content], layout=layout, sheet=sheet, printer=Printer(dpi=300))
    assert {label.symbology_identifier for label in run.placed} == {"]d2"}
    assert read_back_faults(run) == []


TOO_SMALL_FOR_A_GTIN = {"cap-9.5", "tube-0.5-side", "tube-empty"}


OTHER_KINDS = [
    ("pouch-57", Symbology.QR, "]Q1"),
    ("pouch-57", Symbology.MICRO_QR, "]Q1"),
    ("pouch-135", Symbology.CODE_128, "]C0"),
    ("tube-1.5-side", Symbology.MICRO_QR, "]Q1"),
]


@pytest.mark.parametrize("dpi", [300, 600])
@pytest.mark.parametrize(("name", "kind", "identifier"), OTHER_KINDS)
def test_other_kinds_of_symbol_that_a_practice_may_ask_for(name, kind, identifier, dpi, full, read_back_faults):
    layout = require_layout(name)
    wide = {"left": 3.0, "top": 24.0, "width": 89.0, "height": 14.0} if kind is Symbology.CODE_128 else {}
    place = dataclasses.replace(layout.symbol, symbologies=(kind,), smallest_x=0.17, **wide)
    other = dataclasses.replace(layout, symbol=place, fields=layout.fields if not wide else layout.fields[:1])
    short = dataclasses.replace(full, identity=LabelIdentity(serial=full.identity.serial))
    sheet = next(sheet for sheet in list_sheets() if fit_of(layout, sheet))
    run = typeset([short, short], layout=other, sheet=sheet, printer=Printer(dpi=dpi))
    assert {label.symbology_identifier for label in run.placed} == {identifier}
    assert read_back_faults(run) == []


def test_corrections_leave_symbols_exact(content_for, read_back_faults):
    layout, sheet = require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2")
    printer = Printer(dpi=300, offset_x=0.37, offset_y=-0.61, scale_x=1.0031, scale_y=0.9987)
    run = typeset((content_for(layout, number) for number in range(65)), layout=layout, sheet=sheet, printer=printer)
    assert read_back_faults(run) == []
