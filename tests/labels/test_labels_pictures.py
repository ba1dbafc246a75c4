"""A PNG of each label, and the alignment page."""

import io

import numpy as np
import pypdf
from PIL import Image

from tracelabels.labels import Printer, alignment_page, require_layout, require_sheet, typeset, typeset_pictures
from tracelabels.lengths import Mm
from tracelabels.paper import page_count, rasterise, rasterise_page
from tracelabels.symbols import PRINTED, read_symbols


def test_each_label_becomes_a_picture_of_its_own_size_with_its_own_code(content_for):
    layout, sheet = require_layout("tube-1.5-side"), require_sheet("roll-2x38x21")
    contents = [content_for(layout, number) for number in range(3)]
    run = typeset(contents, layout=layout, sheet=sheet, printer=Printer(dpi=300))
    assert run.pages == 2
    pictures = [Image.open(io.BytesIO(png)) for png in typeset_pictures(run, sheet=sheet)]
    assert [picture.size for picture in pictures] == [(449, 248)] * 3  # 38 x 21 mm at 300 dpi
    assert {round(picture.info["dpi"][0]) for picture in pictures} == {300}
    read = [[one.text for one in read_symbols(np.asarray(picture), kinds=PRINTED)] for picture in pictures]
    assert read == [[label.payload.text] for label in run.placed]


def test_the_alignment_page_shows_every_outline_the_crosses_and_what_to_do():
    sheet = require_sheet("a4-5x13-38.1x21.2")
    pdf = alignment_page(sheet, Printer(dpi=300))
    page = rasterise_page(pdf, index=0, dpi=300)
    outlined = []
    for slot in range(sheet.slots):
        left, top = (round(length / 25.4 * 300) for length in sheet.corner(slot))
        outlined.append(bool((page[top + 60, left - 1 : left + 2] < 255).any()))
    # The three rows in the middle give room to the words; all others are there.
    assert [all(outlined[5 * row : 5 * row + 5]) for row in range(13)] == [row not in {5, 6, 7} for row in range(13)]
    for x, y in ((10, 10), (200, 287)):
        assert page[round(y / 25.4 * 300), round(x / 25.4 * 300)] < 255
    text = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert "Multiply scale_x by 190 mm divided by the distance measured from cross to cross, left to right." in text
    assert "Multiply scale_y by 277 mm divided by the distance measured from cross to cross, top to bottom." in text


def test_the_alignment_page_applies_the_corrections_found_so_far():
    sheet = require_sheet("a4-5x13-38.1x21.2")
    plain = rasterise_page(alignment_page(sheet, Printer(dpi=300)), index=0, dpi=300)
    moved = rasterise_page(alignment_page(sheet, Printer(dpi=300, offset_x=Mm(1.0))), index=0, dpi=300)
    row = round((10.7 + 4.0) / 25.4 * 300)
    first, second = (int(np.flatnonzero(page[row, 20:] < 128)[0]) for page in (plain, moved))
    assert second - first == 12  # 1 mm are 11.8 dots


def test_a_roll_gets_one_row_of_outlines():
    pdf = alignment_page(require_sheet("roll-2x38x21"), Printer(dpi=203))
    assert page_count(pdf) == 1
    assert min(int(page.min()) for page in rasterise(pdf, dpi=203)) < 255
