"""Layout files: each mistake one whole sentence; what is shipped covers the label sets and keeps the rules."""

import pytest

from tracelabels.labels import ContentField, list_layouts, list_sheets, smallest_legible
from tracelabels.labels import fits as fit_of
from tracelabels.labels.boxes import extent_of_field, extent_of_text
from tracelabels.labels.layouts import Shorten

GOOD = """
title = "Mine"
purpose = "a tube"
set = "mine"
surface = "tube"
[label]
width = 30.0
height = 20.0
[tube]
diameter = 10.3
axis = "width"
[symbol]
at = [1.0, 12.0]
width = 18.0
height = 5.8
smallest_x = 0.24
largest_x = 0.5
[[field]]
show = "product"
at = [1.0, 4.0]
width = 20.0
sizes = [5.0, 9.0]
essential = true
[[field]]
show = "lot"
at = [1.0, 10.0]
width = 20.0
caption = "Batch"
caption_width = 5.0
sizes = [5.0, 6.0]
[[field]]
show = "serial"
at = [22.0, 10.0]
width = 7.0
sizes = [4.0, 5.0]
[[text]]
text = "film side"
at = [22.0, 4.0]
size = 4.0
[[rule]]
from = [1.0, 5.5]
to = [20.0, 5.5]
"""

CASES = [
    (
        ('show = "product"', 'show = "produkt"'),
        (
            "mine.toml: key 'show' of field 1 = 'produkt'; expected one of product, item_number, "
            "lot, prepared, use_by, serial, "
            "serial_start, serial_end, volume, contents, lines, steriliser, load_number, processed_on, "
            "operator, notes, copy; "
            "write 'product'"
        ),
    ),
    (
        ("essential = true", "esential = true"),
        (
            "mine.toml: key 'esential' of field 'product' is not a key that is known here; expected "
            "one of show, at, width, height, "
            "sizes, weight, align, turned, caption, caption_for_preparation, caption_size, caption_width, "
            "caption_rise, essential, "
            "required, write_in, shorten; write 'essential'"
        ),
    ),
    (
        ("essential = true", "essential = 1"),
        "mine.toml: key 'essential' of field 'product' = 1; expected true or false; change the value",
    ),
    (
        ("sizes = [5.0, 9.0]", "sizes = [9.0, 5.0]"),
        (
            "mine.toml: key 'sizes' of field 'product' = [9.0, 5.0]; expected [smallest, largest] in this "
            "order; swap the two"
        ),
    ),
    (
        ("sizes = [5.0, 9.0]", "sizes = [5.0]"),
        (
            "mine.toml: key 'sizes' of field 'product' = [5.0]; "
            "expected [smallest, largest], each a number from 3 to 72; change the value"
        ),
    ),
    (
        ("sizes = [5.0, 9.0]", "sizes = [5.1, 9.0]"),
        "mine.toml: key 'sizes' of field 'product' = [5.1, 9.0]; expected sizes in steps of 0.25 pt; round them",
    ),
    (
        ("sizes = [5.0, 9.0]", "sizes = [4.5, 9.0]"),
        (
            "mine.toml: key 'sizes' of field 'product' = [4.5, 9.0]; "
            "expected at least 4.75 pt for this fact, which is essential; make room for a larger size"
        ),
    ),
    (
        ("essential = true", 'essential = true\nshorten = "abbreviate"'),
        (
            "mine.toml: key 'shorten' of field 'product' = 'abbreviate'; "
            "expected 'never' for a fact that is essential; write 'never'"
        ),
    ),
    (
        ("essential = true", "height = 2.0"),
        (
            "mine.toml: key 'height' of field 'product' = 2.0; "
            "expected at least the 2.31 mm of one line at the largest size; make it higher, or leave it out "
            "for a single line"
        ),
    ),
    (
        ("essential = true", "turned = true\nheight = 6.0"),
        (
            "mine.toml: key 'height' of field 'product' = 6.0; "
            "expected no height, as a text that reads upwards has one line; remove it"
        ),
    ),
    (
        ("caption_width = 5.0", "caption_width = 2.0"),
        (
            "mine.toml: key 'caption' of field 'lot' = 'Batch'; "
            "expected words of at most 2 mm (these take 3.85); choose shorter words"
        ),
    ),
    (
        ("caption_width = 5.0", "caption_width = 19.5"),
        "mine.toml: key 'caption_width' of field 'lot' = 19.5; expected less than the place's 20 mm; change the value",
    ),
    (
        ('"film side"', '"film \u2603"'),
        "mine.toml: text 1: the face lacks '\u2603' of 'film \u2603'; expected characters of the face; use other words",
    ),
    (
        ("at = [1.0, 4.0]", "at = [12.0, 4.0]"),
        (
            "mine.toml: field 'product' takes 12.00 to 32.00 x 1.69 to 4.77 mm of a label of 30 x 20 mm; "
            "expected parts that lie within the label; move it or make it smaller"
        ),
    ),
    (
        ("at = [1.0, 10.0]", "at = [1.0, 13.0]"),
        (
            "mine.toml: the code's space (1.00 to 19.00 x 12.00 to 17.80 mm) lies over "
            "field 'lot' (1.00 to 21.00 x 11.46 to 13.51 mm); "
            "expected parts that lie beside each other; move one of them or make it smaller"
        ),
    ),
    (
        ("to = [20.0, 5.5]", "to = [20.0, 15.0]"),
        (
            "mine.toml: the code's space (1.00 to 19.00 x 12.00 to 17.80 mm) lies over rule 1 (1.00 "
            "to 20.00 x 5.45 to 15.05 mm); "
            "expected parts that lie beside each other; move one of them or make it smaller"
        ),
    ),
    (
        ('show = "lot"', 'show = "product"'),
        "mine.toml: field 'product' stands twice; expected each fact once; remove one of them",
    ),
    (
        ('show = "lot"', 'show = "serial_start"'),
        (
            "mine.toml: one piece of the serial stands without the other; "
            "expected both 'serial_start' and 'serial_end', or 'serial'; add the other piece"
        ),
    ),
    (
        ('axis = "width"', 'axis = "with"'),
        "mine.toml: key 'axis' of tube = 'with'; expected one of width, height; write 'width'",
    ),
    (
        ("largest_x = 0.5", "largest_x = 0.2"),
        "mine.toml: key 'largest_x' of symbol = 0.2; expected a number from 0.24 to 2; change the value",
    ),
    (
        ("largest_x = 0.5", "largest_x = 0.5\nkinds = []"),
        (
            "mine.toml: key 'kinds' of symbol = []; "
            "expected a list with at least one of data_matrix, qr, micro_qr, code_128; change the value"
        ),
    ),
]


def test_the_good_file_is_read(layout_from):
    layout = layout_from(GOOD)
    assert [field.content for field in layout.fields] == [ContentField.PRODUCT, ContentField.LOT, ContentField.SERIAL]
    assert (layout.tube.diameter, layout.fields[0].shorten, layout.widest) == (10.3, Shorten.NEVER, 300.0)


@pytest.mark.parametrize(("change", "sentence"), CASES)
def test_each_mistake_is_one_sentence(layout_from, refusal_of, change, sentence):
    assert change[0] in GOOD
    assert refusal_of(layout_from, GOOD.replace(change[0], change[1], 1)) == sentence


def test_a_part_that_leaves_a_disc(layout_from, refusal_of):
    disc = """
title = "Mine"
purpose = "a cap"
set = "mine"
surface = "tube"
[label]
round = true
diameter = 11.0
[symbol]
at = [0.5, 0.5]
width = 9.0
height = 9.0
smallest_x = 0.24
largest_x = 0.5
"""
    assert refusal_of(layout_from, disc) == (
        "mine.toml: the code's space reaches 7.07 mm from the centre of a disc with radius 5.5 mm; "
        "expected parts that lie within the disc; move it or make it smaller"
    )


LAYOUTS = list_layouts()


def test_what_is_shipped_covers_the_label_sets():
    names = {layout.name for layout in LAYOUTS}
    assert names >= {
        *("tube-0.5-side", "tube-1.5-side", "tube-2.0-side"),
        *("cap-9.5", "cap-11", "flag-0.5", "flag-1.5"),
        *("tube-empty", "tube-filled"),
        *("pouch-57", "pouch-90", "pouch-135", "pouch-instruments", "pouch-batches", "pouch-processed"),
    }


POUCH_FACTS = {
    *(ContentField.SERIAL, ContentField.USE_BY, ContentField.PREPARED, ContentField.STERILISER),
    *(ContentField.LOAD_NUMBER, ContentField.PROCESSED_ON, ContentField.OPERATOR),
}
PRODUCT_FACTS = {ContentField.PRODUCT, ContentField.ITEM_NUMBER, ContentField.LOT, ContentField.CONTENTS}


@pytest.mark.parametrize(
    ("name", "more"),
    [
        ("pouch-57", PRODUCT_FACTS),
        ("pouch-90", PRODUCT_FACTS),
        ("pouch-135", PRODUCT_FACTS),
        ("pouch-batches", {ContentField.LINES}),
        ("pouch-instruments", {ContentField.CONTENTS}),
    ],
)
def test_a_pouch_label_carries_what_it_must_whole(name, more):
    layout = next(layout for layout in LAYOUTS if layout.name == name)
    essential = {field.content for field in layout.fields if field.essential}
    assert essential >= POUCH_FACTS | more
    written_in = {field.content for field in layout.fields if field.write_in}
    assert written_in == {
        *(ContentField.STERILISER, ContentField.LOAD_NUMBER, ContentField.PROCESSED_ON, ContentField.OPERATOR)
    }


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_a_pouch_label_says_where_it_goes(layout):
    said = any("Film side" in text.text for text in layout.texts)
    assert said == (layout.label_set == "pouch" and layout.name != "pouch-processed")


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_each_shipped_layout_goes_on_a_shipped_sheet(layout):
    assert any(fit_of(layout, sheet) for sheet in list_sheets())


def test_each_shipped_sheet_takes_a_shipped_layout():
    idle = [sheet.name for sheet in list_sheets() if not any(fit_of(layout, sheet) for layout in LAYOUTS)]
    assert idle == []


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_essential_facts_of_shipped_layouts_stay_legible_and_whole(layout):
    for field in layout.fields:
        if field.essential:
            assert field.smallest >= smallest_legible(field.content)
            assert field.shorten is Shorten.NEVER
    shows = {field.content for field in layout.fields}
    assert ContentField.SERIAL in shows or {ContentField.SERIAL_START, ContentField.SERIAL_END} <= shows
    assert ContentField.COPY in shows


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_parts_of_shipped_layouts_lie_apart(layout):
    boxes = [extent_of_field(field) for field in layout.fields] + [extent_of_text(text) for text in layout.texts]
    symbol = layout.symbol
    for box in boxes:
        beside = box.right <= symbol.left + 0.01 or box.left >= symbol.left + symbol.width - 0.01
        above_or_below = box.bottom <= symbol.top + 0.01 or box.top >= symbol.top + symbol.height - 0.01
        assert beside or above_or_below
    assert not any(one.overlaps(other) for number, one in enumerate(boxes) for other in boxes[:number])


def test_the_smallest_type_is_held_to_nine_tenths_of_a_millimetre():
    # Regulation (EU) No 1169/2011, Article 13(3): x-height 0.9 mm on small packs (from memory). The face's x-height is
    # 1536/2816 of its size, its digits 2048/2816: 0.9 mm are 4.68 pt and 3.51 pt, rounded up to quarter points.
    assert smallest_legible(ContentField.PRODUCT) == 4.75
    assert smallest_legible(ContentField.SERIAL) == 3.75


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            ('show = "serial"', 'show = "notes"'),
            (
                "mine.toml: no field shows the serial; expected a field with show = 'serial' (or its two pieces); "
                "add one: without it a damaged code leaves nothing to look up"
            ),
        ),
        (
            ('text = "film side"', 'text = "STERILE"'),
            (
                "mine.toml: the words 'STERILE'; expected no word that declares the content sterile; "
                "leave it out: a label says what was done, not what came of it"
            ),
        ),
    ],
)
def test_a_label_shows_its_serial_and_declares_nothing_sterile(tmp_path, change, sentence):
    from tracelabels.errors import TemplateError
    from tracelabels.labels import load_layout

    assert change[0] in GOOD
    (tmp_path / "mine.toml").write_text(GOOD.replace(*change))
    with pytest.raises(TemplateError) as caught:
        load_layout(tmp_path / "mine.toml")
    assert str(caught.value) == sentence
