"""The short way to a label's symbol gives what the whole question gives."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.errors import NoRoomError
from tracelabels.identifiers import IdentifierMode, Payload, compose_label
from tracelabels.labels import list_layouts, require_layout
from tracelabels.labels.symbol_choice import SymbolChooser
from tracelabels.symbols import Space, TubeAxis, choose_symbol

CHARACTERS = "0123456789ABCXYZabcxyz-./_"


def payload(text: str) -> Payload:
    return Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


def asked_whole(text: str, layout, dpi: int):
    place, tube = layout.symbol, layout.tube
    space = Space(width=place.width, height=place.height, tube_diameter=tube.diameter, axis=tube.axis)
    return choose_symbol(payload(text), space, dpi=dpi, smallest_x=place.smallest_x, largest_x=place.largest_x)


def same_kinds(text: str, draw) -> str:
    """Draw another text whose characters are of the same kinds, one by one."""
    kinds = ("0123456789", "ABCXYZ", "abcxyz")
    pool = [next((kind for kind in kinds if character in kind), character) for character in text]
    return "".join(draw(st.sampled_from(kind)) for kind in pool)


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_a_text_of_the_same_kinds_gets_the_symbol_that_the_whole_question_gives(data):
    layout = require_layout("tube-1.5-side")
    text = data.draw(st.text(CHARACTERS, min_size=1, max_size=24))
    chooser = SymbolChooser(layout, dpi=300, quarter_turns=0)
    for one in (text, same_kinds(text, data.draw)):
        drawn, chosen = chooser.write(payload(one)), asked_whole(one, layout, 300)
        assert (drawn.printed.version, drawn.printed.x) == (chosen.symbol.version, chosen.x)
        assert np.array_equal(drawn.modules, np.rot90(chosen.symbol.modules, chosen.quarter_turns))
        assert drawn.printed.payload.text == one


@pytest.mark.parametrize("turns", range(4))
def test_turning_is_counter_clockwise_and_the_packed_modules_are_the_drawn_ones(turns):
    layout = require_layout("tube-1.5-side")
    upright = SymbolChooser(layout, dpi=300, quarter_turns=0).write(payload("1727113021010000179"))
    turned = SymbolChooser(layout, dpi=300, quarter_turns=turns).write(payload("1727113021010000179"))
    assert np.array_equal(turned.modules, np.rot90(upright.modules, turns))
    assert np.array_equal(turned.printed.modules, turned.modules)
    assert (turned.printed.rows, turned.printed.columns) == turned.modules.shape


def test_on_a_tube_the_long_side_lies_along_it():
    printed = SymbolChooser(require_layout("tube-1.5-side"), dpi=300, quarter_turns=0).write(payload("1" * 40)).printed
    assert (printed.version, printed.rows, printed.columns, printed.symbology_identifier) == ("12x36", 12, 36, "]d1")


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("layout", [one for one in list_layouts() if one.tube], ids=lambda one: one.name)
def test_every_shipped_label_that_goes_round_a_tube_takes_a_rectangle_along_it(layout, dpi, content_for):
    # Which shapes a plain reader keeps on a tilted tube is measured in tests/benchmarks (shapes).
    content = content_for(layout, 17)
    printed = (
        SymbolChooser(layout, dpi=dpi, quarter_turns=0).write(compose_label(content.identity, content.mode)).printed
    )
    along, round_it = printed.columns, printed.rows
    if layout.tube.axis is TubeAxis.HEIGHT:
        along, round_it = round_it, along
    assert along > 2 * round_it


def test_what_does_not_fit_is_refused_with_what_would():
    chooser = SymbolChooser(require_layout("cap-9.5"), dpi=300, quarter_turns=0)
    with pytest.raises(NoRoomError) as caught:
        chooser.write(payload("1" * 50))
    assert str(caught.value) == (
        "a free space of 5.64 x 5.64 mm; expected at least 6.10 x 6.10 mm at 300 dpi with X 0.254 mm (3 dots), "
        "as Data Matrix 22x22; give the symbol more room, shorten the text, or use a finer printer"
    )
